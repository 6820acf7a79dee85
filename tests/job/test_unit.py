from decimal import Decimal

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from handsfree.errors import BadValue
from handsfree.job.unit import Family, Measure, Unit, convert, family_of, parse_measure

# Pint's registry (its default_en.txt) is the check from outside.
REGISTRY = pint.get_application_registry()
PINT = {
    Unit.SECOND: "second",
    Unit.INCH: "inch",
    Unit.FOOT: "foot",
    Unit.MILLIMETRE: "millimeter",
    Unit.CENTIMETRE: "centimeter",
    Unit.METRE: "meter",
    Unit.POUND: "pound",
    Unit.KILOGRAM: "kilogram",
    Unit.POUND_FORCE: "force_pound",
    Unit.NEWTON: "newton",
    Unit.FOOT_POUND: "force_pound * foot",
    Unit.JOULE: "joule",
    Unit.DEGREE: "degree",
    Unit.ONE: "dimensionless",
    Unit.MONTH: "month",
    Unit.STEP: "dimensionless",
}
PAIRS = [(a, b) for a in Unit for b in Unit if family_of(a) is family_of(b)]
VALUES = st.decimals(min_value="0.01", max_value="9999", places=2)


@pytest.mark.parametrize(("unit", "to"), PAIRS)
def test_a_unit_converts_as_pint_has_it(unit: Unit, to: Unit) -> None:
    expected = REGISTRY.Quantity(6.25, PINT[unit]).to(PINT[to]).magnitude
    assert float(convert(Decimal("6.25"), unit, to)) == pytest.approx(expected, rel=1e-12)


@given(VALUES, st.sampled_from(PAIRS))
def test_there_and_back_is_the_same(value: Decimal, pair: tuple[Unit, Unit]) -> None:
    unit, to = pair
    back = convert(convert(value, unit, to), to, unit)
    assert back.quantize(Decimal("0.0001")) == value


NO_SYMBOL = (Unit.ONE, Unit.STEP, Unit.FOOT_POUND)


@given(VALUES, st.sampled_from([unit for unit in Unit if unit not in NO_SYMBOL]))
def test_what_is_printed_reads_back(value: Decimal, unit: Unit) -> None:
    measure = Measure(value=value, unit=unit)
    assert parse_measure(str(measure), family_of(unit)) == measure


@pytest.mark.parametrize(
    ("text", "family"),
    [("4 kilos", Family.TIME), ("36 lb", Family.LENGTH), ("36", Family.LENGTH), ("", Family.MASS)],
)
def test_what_is_no_measure_of_the_family_is_refused(text: str, family: Family) -> None:
    with pytest.raises(BadValue):
        parse_measure(text, family)


def test_families_do_not_mix() -> None:
    with pytest.raises(BadValue, match="kg is a unit of mass"):
        convert(Decimal(1), Unit.KILOGRAM, Unit.NEWTON)
