"""Readbacks are spoken as people say numbers, and mean the accepted value."""

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

ENGLISH, SPANISH = wording("en"), wording("es")

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
        ("6.2", "six point two"),
        ("6.20", "six point two zero"),
        ("0.05", "zero point zero five"),
        ("36.0", "three six point zero"),
    ],
)
def test_decimals_are_spoken_digit_by_digit(value: str, said: str):
    assert ENGLISH.number(Decimal(value)) == said


@pytest.mark.parametrize(
    ("value", "english", "spanish"),
    [
        ("0", "zero pounds", "cero libras"),
        ("1", "one pound", "una libra"),
        ("11", "eleven pounds", "once libras"),
        ("12", "twelve pounds", "doce libras"),
        ("20", "twenty pounds", "veinte libras"),
        ("21", "twenty one pounds", "veintiuna libras"),
        ("36", "thirty six pounds", "treinta y seis libras"),
        ("100", "one hundred pounds", "cien libras"),
        ("125", "one hundred twenty five pounds", "ciento veinticinco libras"),
        ("150", "one hundred fifty pounds", "ciento cincuenta libras"),
        ("500", "five hundred pounds", "quinientas libras"),
        ("1000", "one thousand pounds", "mil libras"),
        (
            "2134",
            "two thousand one hundred thirty four pounds",
            "dos mil ciento treinta y cuatro libras",
        ),
        ("1E+2", "one hundred pounds", "cien libras"),
        ("10000", "one zero zero zero zero pounds", "uno cero cero cero cero libras"),
    ],
)
def test_whole_numbers_are_spoken_as_people_say_them(value, english, spanish):
    assert ENGLISH.measure(Decimal(value), Unit.POUND) == english
    assert SPANISH.measure(Decimal(value), Unit.POUND) == spanish


def test_a_number_that_sounds_like_another_is_spoken_digit_by_digit():
    alike = [*range(13, 20), *range(30, 100, 10)]
    for number in range(100):
        spelled = ENGLISH.number(Decimal(number)) == ENGLISH.digits(str(number))
        assert spelled == (number in alike or number < 10), number
    # 'Sesenta' and 'setenta'.
    assert SPANISH.number(Decimal(62)) == "seis dos"
    assert SPANISH.number(Decimal(36)) == "treinta y seis"
    assert ENGLISH.number(Decimal(150), spelled=True) == "one five zero"


def test_inches_are_read_back_as_a_tape_shows_them():
    assert ENGLISH.measure(Decimal("35.5"), Unit.INCH) == "thirty five and a half inches"
    assert SPANISH.measure(Decimal("4.1875"), Unit.INCH) == "cuatro pulgadas y tres dieciseisavos"
    assert ENGLISH.measure(Decimal("4.50"), Unit.INCH) == "four point five zero inches"
    assert ENGLISH.measure(Decimal("4.3"), Unit.INCH) == "four point three inches"
    assert ENGLISH.measure(Decimal("4.5"), Unit.SECOND) == "four point five seconds"


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
