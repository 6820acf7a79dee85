"""The closed list of units, and exact conversion between units of one family.

A general unit library reads 'four kilos' as kiloseconds; here a unit that is not
listed is refused. Factors are exact by definition (international yard and pound,
standard gravity 9.80665 m/s²).
"""

from __future__ import annotations

import re
from decimal import Decimal, InvalidOperation
from enum import StrEnum

from handsfree.errors import BadValue
from handsfree.job.record import Number, Record


class Family(StrEnum):
    """A family of units that convert into one another."""

    TIME = "time"
    LENGTH = "length"
    MASS = "mass"
    FORCE = "force"
    ENERGY = "energy"
    ANGLE = "angle"
    COUNT = "count"
    SPAN = "span"
    STEP = "step"


class Unit(StrEnum):
    """A unit as written in records; its value is the symbol."""

    SECOND = "s"
    INCH = "in"
    FOOT = "ft"
    MILLIMETRE = "mm"
    CENTIMETRE = "cm"
    METRE = "m"
    POUND = "lb"
    KILOGRAM = "kg"
    POUND_FORCE = "lbf"
    NEWTON = "N"
    FOOT_POUND = "lbf ft"
    JOULE = "J"
    DEGREE = "deg"
    ONE = "1"
    MONTH = "month"
    STEP = "step"


_FAMILY: dict[Unit, tuple[Family, Decimal]] = {
    # unit: (family, factor to the family's base unit: s, m, kg, N, J, deg, 1, month, step)
    Unit.SECOND: (Family.TIME, Decimal(1)),
    Unit.INCH: (Family.LENGTH, Decimal("0.0254")),
    Unit.FOOT: (Family.LENGTH, Decimal("0.3048")),
    Unit.MILLIMETRE: (Family.LENGTH, Decimal("0.001")),
    Unit.CENTIMETRE: (Family.LENGTH, Decimal("0.01")),
    Unit.METRE: (Family.LENGTH, Decimal(1)),
    Unit.POUND: (Family.MASS, Decimal("0.45359237")),
    Unit.KILOGRAM: (Family.MASS, Decimal(1)),
    Unit.POUND_FORCE: (Family.FORCE, Decimal("4.4482216152605")),
    Unit.NEWTON: (Family.FORCE, Decimal(1)),
    Unit.FOOT_POUND: (Family.ENERGY, Decimal("1.3558179483314004")),
    Unit.JOULE: (Family.ENERGY, Decimal(1)),
    Unit.DEGREE: (Family.ANGLE, Decimal(1)),
    Unit.ONE: (Family.COUNT, Decimal(1)),
    Unit.MONTH: (Family.SPAN, Decimal(1)),
    Unit.STEP: (Family.STEP, Decimal(1)),
}

_WRITTEN = re.compile(r"^\s*([-+]?\d+(?:\.\d+)?)\s*([a-zA-Z\"']*)\s*$")
_LONGEST = 60
_ALIASES = {
    "sec": Unit.SECOND,
    "inch": Unit.INCH,
    "inches": Unit.INCH,
    '"': Unit.INCH,
    "lbs": Unit.POUND,
    "n": Unit.NEWTON,
    "degrees": Unit.DEGREE,
    "months": Unit.MONTH,
}


def family_of(unit: Unit) -> Family:
    """The family that a unit belongs to."""
    return _FAMILY[unit][0]


def in_base_unit(value: Decimal, unit: Unit) -> float:
    """The value in its family's base unit (s, m, kg, N, J, deg, 1, month)."""
    return float(value * _FAMILY[unit][1])


def convert(value: Decimal, unit: Unit, to: Unit) -> Decimal:
    """The same quantity in another unit of its family; exact up to Decimal's context.

    Raises BadValue if the families differ.
    """
    if unit is to:
        return value
    family, factor = _FAMILY[unit]
    other, other_factor = _FAMILY[to]
    if family is not other:
        raise BadValue(f"{unit} is a unit of {family}, {to} of {other}")
    return value * factor / other_factor


class Measure(Record):
    """A value with its unit, as a person gave it."""

    value: Number
    unit: Unit

    def in_base_unit(self) -> float:
        """The value in its family's base unit (s, m, kg, N, J, deg, 1, month)."""
        return in_base_unit(self.value, self.unit)

    def __str__(self) -> str:
        bare = self.unit in (Unit.ONE, Unit.STEP)
        return f"{self.value}" if bare else f"{self.value} {self.unit}"


def parse_measure(text: str, family: Family, default: Unit | None = None) -> Measure:
    """Reads '36in', '914 mm', '3.5'; a bare number takes the default unit.

    Raises BadValue for a unit of another family, an unknown or missing unit, or a number that is
    not finite.
    """
    match = _WRITTEN.match(text) if len(text) <= _LONGEST else None
    if not match:
        raise BadValue(f"'{text[:_LONGEST]}' is not a number with a unit of {family}")
    try:
        value = Decimal(match[1])
    except InvalidOperation as error:  # pragma: no cover - the pattern admits only numbers
        raise BadValue(f"'{text}' is not a number") from error
    symbol = match[2]
    known = {u.value: u for u in Unit} | _ALIASES
    unit = known.get(symbol) or known.get(symbol.lower()) if symbol else default
    units = ", ".join(u.value for u in Unit if family_of(u) is family)
    if unit is None:
        raise BadValue(f"'{text}' has no known unit", way_out=f"give one of: {units}")
    if family_of(unit) is not family:
        raise BadValue(f"'{text}' has no unit of {family}", way_out=f"give one of: {units}")
    return Measure(value=value, unit=unit)
