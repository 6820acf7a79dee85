"""Figures and units as the voice and a reader both take them."""

from __future__ import annotations

from decimal import Decimal

from handsfree.job.unit import Unit

_NAMES = {
    Unit.SECOND: "seconds",
    Unit.INCH: "inches",
    Unit.FOOT: "feet",
    Unit.MILLIMETRE: "millimetres",
    Unit.CENTIMETRE: "centimetres",
    Unit.METRE: "metres",
    Unit.POUND: "pounds",
    Unit.KILOGRAM: "kilograms",
    Unit.POUND_FORCE: "pounds force",
    Unit.NEWTON: "newtons",
    Unit.FOOT_POUND: "foot pounds",
    Unit.JOULE: "joules",
    Unit.DEGREE: "degrees",
    Unit.ONE: "cycles",
    Unit.MONTH: "months",
}


def unit_name(unit: Unit) -> str:
    """The unit as a plural word, without symbols."""
    return _NAMES[unit]


def figure(value: Decimal) -> str:
    """At most two decimals, and no zeros that say nothing: 3.5, 4, 2.97."""
    text = f"{value:.2f}"
    return text.rstrip("0").rstrip(".")
