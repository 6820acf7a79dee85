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
    Unit.STEP: "steps",
}
_MOST_DECIMALS = 9


def unit_name(unit: Unit) -> str:
    """The unit as a plural word, without symbols."""
    return _NAMES[unit]


def figure(value: Decimal, apart_from: Decimal | None = None) -> str:
    """At most two decimals, and no zeros that say nothing: 3.5, 4, 2.97.

    More decimals where two would make the value look like ``apart_from``: a reading of
    3.495 under a limit of 3.5 is no 3.5.
    """
    places = 2
    if apart_from is not None and value != apart_from:
        while places < _MOST_DECIMALS and _rounded(value, places) == _rounded(apart_from, places):
            places += 1
    return _rounded(value, places)


def _rounded(value: Decimal, places: int) -> str:
    text = f"{value:.{places}f}"
    return text.rstrip("0").rstrip(".")
