"""Readbacks are spoken digit by digit, and mean the accepted value."""

from __future__ import annotations

from decimal import ROUND_DOWN, Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from handsfree.errors import BadValue
from handsfree.job.quantity import QUANTITIES, Quantity
from handsfree.job.reading import Subject
from handsfree.job.unit import Family, Unit, family_of
from handsfree.language.interpreter import Language
from handsfree.language.meaning import ReadingSaid
from handsfree.language.wording import wording

ENGLISH = wording("en")

VALUES = st.tuples(st.integers(0, 999), st.integers(0, 3)).flatmap(
    lambda given: st.integers(0, 10 ** given[1] - 1).map(
        lambda decimals: Decimal(f"{given[0]}.{decimals:0{given[1]}d}" if given[1] else given[0])
    )
)
# Energies are computed, nobody says them to the tool.
UNSAID = (Family.ENERGY, Family.STEP)  # what is computed, and what has no name
SAID = [unit for unit in Unit if family_of(unit) not in UNSAID]
WHOLE_ONLY = (Unit.ONE, Unit.MONTH)


@pytest.mark.parametrize(
    ("value", "said"),
    [
        # FAA AIM 4-2-8 and ICAO Doc 9432 (seen): each digit by itself, the decimal as 'point'.
        ("10", "one zero"),
        ("500", "five zero zero"),
        ("125", "one two five"),
        ("6.2", "six point two"),
        ("6.20", "six point two zero"),
        ("0.05", "zero point zero five"),
        ("2134", "two one three four"),
        ("1E+2", "one zero zero"),
    ],
)
def test_numbers_are_spoken_digit_by_digit(value: str, said: str):
    assert ENGLISH.number(Decimal(value)) == said


@pytest.mark.parametrize("value", ["-1", "-0", "NaN", "Infinity"])
def test_what_cannot_be_said_is_refused(value: str):
    with pytest.raises(BadValue):
        ENGLISH.number(Decimal(value))


def test_the_unit_is_singular_after_exactly_one():
    assert ENGLISH.measure(Decimal(1), Unit.SECOND) == "one second"
    assert ENGLISH.measure(Decimal("1.0"), Unit.SECOND) == "one point zero seconds"
    assert ENGLISH.measure(Decimal("0.5"), Unit.FOOT) == "zero point five feet"
    assert ENGLISH.measure(Decimal(1), Unit.POUND_FORCE) == "one pound force"


@pytest.mark.slow
@given(value=VALUES, unit=st.sampled_from(SAID))
def test_a_measure_that_is_read_back_means_the_same(language: Language, value, unit):
    value = value.to_integral_value(ROUND_DOWN) if unit in WHOLE_ONLY else value
    said = language.parse(ENGLISH.measure(value, unit))
    assert said == ReadingSaid(value=value, unit=unit)
    assert str(said.value) == str(value)


LEAF = [s for s in Subject if "leaf" in s or "leaves" in s]
PLATE = [Subject.LEFT_PLATE, Subject.RIGHT_PLATE]
FACE = [Subject.NEAR_SIDE, Subject.FAR_SIDE]
OF = {"leaf": LEAF, "plate": PLATE, "side": FACE, "opening": [Subject.OPENING]}
SUBJECTS = {quantity: OF[facts.of] for quantity, facts in QUANTITIES.items()} | {
    # It is said of a leaf as well: each has a clear width of its own.
    Quantity.CLEAR_WIDTH: [*LEAF, Subject.OPENING],
}


@pytest.mark.parametrize("quantity", Quantity)
def test_a_reading_that_is_read_back_means_the_same(language: Language, quantity: Quantity):
    units = [unit for unit in Unit if family_of(unit) is QUANTITIES[quantity].family]
    for unit in units:
        for subject in (None, *SUBJECTS[quantity]):
            said = ENGLISH.reading(subject, quantity, Decimal(12), unit)
            assert language.parse(said) == ReadingSaid(
                subject=subject, quantity=quantity, value=Decimal(12), unit=unit
            )


def test_a_reading_in_words():
    said = ENGLISH.reading(Subject.LEFT_LEAF, Quantity.OPENING_TIME, Decimal("6.2"), Unit.SECOND)
    assert said == "left leaf, opening time, six point two seconds"


def test_every_unit_has_words():
    assert len({ENGLISH.unit(unit, Decimal(2)) for unit in Unit}) == len(Unit)
