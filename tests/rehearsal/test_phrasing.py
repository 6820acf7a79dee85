"""Every way in which the technician says a value means that value in the grammar."""

from __future__ import annotations

from decimal import Decimal
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from handsfree.job.quantity import QUANTITIES, Quantity
from handsfree.job.reading import Subject
from handsfree.job.unit import Unit
from handsfree.language.interpreter import Language
from handsfree.language.meaning import ReadingSaid
from handsfree.rehearsal import phrasing
from handsfree.rehearsal.measurements import misread
from handsfree.rehearsal.phrasing import IntendedReading

LEAF = Subject.LEFT_LEAF


@given(st.integers(0, 9999), st.randoms(use_true_random=False))
def test_whole_numbers(language: Language, number: int, rng: Random):
    assert language.number(phrasing.whole(number, rng)) == number


@given(st.decimals(0, 99, places=2), st.randoms(use_true_random=False))
def test_decimals_and_fractions(language: Language, value: Decimal, rng: Random):
    assert language.number(phrasing.number(value, rng)) == value
    assert language.number(phrasing.number(value, rng, fraction=True)) == value


@pytest.mark.parametrize(
    ("quantity", "subject", "value", "unit"),
    [
        (Quantity.OPENING_TIME, LEAF, "4.71", Unit.SECOND),
        (Quantity.BACKCHECK_ANGLE, LEAF, "75", Unit.DEGREE),
        (Quantity.LEAF_WIDTH, LEAF, "36.25", Unit.INCH),
        (Quantity.LEAF_HEIGHT, LEAF, "2134", Unit.MILLIMETRE),
        (Quantity.LEAF_WEIGHT, LEAF, "150", Unit.POUND),
        (Quantity.LEAF_WEIGHT, LEAF, "84", Unit.KILOGRAM),
        (Quantity.OPENING_FORCE, LEAF, "10.5", Unit.POUND_FORCE),
        (Quantity.CLOSING_FORCE, LEAF, "46", Unit.NEWTON),
        (Quantity.RELEASE_FORCE, LEAF, "7.5", Unit.POUND_FORCE),
        (Quantity.SET_IN_MOTION_FORCE, LEAF, "14", Unit.NEWTON),
        (Quantity.OPEN_FULLY_FORCE, LEAF, "4.5", Unit.POUND_FORCE),
        (Quantity.PLATE_HEIGHT, Subject.LEFT_PLATE, "40", Unit.INCH),
        (Quantity.PLATE_DISTANCE, Subject.RIGHT_PLATE, "4.5", Unit.FOOT),
        (Quantity.PLATE_DISTANCE, Subject.RIGHT_PLATE, "1.2", Unit.METRE),
        (Quantity.SIGN_HEIGHT, Subject.FAR_SIDE, "50.25", Unit.INCH),
        (Quantity.CYCLES, Subject.OPENING, "10", Unit.ONE),
        (Quantity.NEXT_SERVICE, Subject.OPENING, "12", Unit.MONTH),
        (Quantity.OPENING_SPEED, LEAF, "9", Unit.STEP),
        (Quantity.HOLD_OPEN_SETTING, LEAF, "13", Unit.STEP),
    ],
)
def test_every_way_of_saying_a_reading_means_it(language, quantity, subject, value, unit):
    meant = IntendedReading(quantity=quantity, subject=subject, value=Decimal(value), unit=unit)
    for seed in range(60):
        text = phrasing.reading(meant, Random(seed))
        heard = language.parse(text)
        assert isinstance(heard, ReadingSaid), text
        assert heard.value == meant.value, text
        assert heard.quantity in (None, quantity), text
        assert heard.subject in (None, subject), text
        family = (None, unit, Unit.POUND) if unit is Unit.POUND_FORCE else (None, unit)
        assert heard.unit in family, text
    spelt = language.parse(phrasing.digit_by_digit(meant))
    assert isinstance(spelt, ReadingSaid) and spelt.value == meant.value


@given(st.decimals("1.00", "9.99", places=2), st.randoms(use_true_random=False))
def test_a_slip_is_another_plausible_value(value: Decimal, rng: Random):
    meant = IntendedReading(
        quantity=Quantity.OPENING_TIME, subject=LEAF, value=value, unit=Unit.SECOND
    )
    slip = misread(meant, rng)
    assert slip.value != value
    facts = QUANTITIES[Quantity.OPENING_TIME]
    assert facts.low <= slip.value <= facts.high
