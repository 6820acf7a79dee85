"""Formats figures and units for both voice and print."""

from __future__ import annotations

from decimal import Decimal

from handsfree.job.unit import Unit
from handsfree.language.wording import Wording, wording

_MOST_DECIMALS = 9


def unit_name(unit: Unit) -> str:
    """The unit as a plural word in English, without symbols: for tables."""
    return wording().units(unit)


def counted(count: int, noun: str) -> str:
    """A number with its noun, for print: '1 line', '2 lines', 'no lines'."""
    return f"{count or 'no'} {noun}{'' if count == 1 else 's'}"


def measured(w: Wording, value: Decimal, unit: Unit, apart_from: Decimal | None = None) -> str:
    """A value with its unit, formatted as by :func:`figure`: '3.5 seconds'."""
    written = figure(value, apart_from)
    return f"{written} {w.unit(unit, Decimal(written))}".strip()


def figure(value: Decimal, apart_from: Decimal | None = None) -> str:
    """A value with at most two decimals and no trailing zeros: 3.5, 4, 2.97.

    It gets more decimals if two would make it equal ``apart_from``: a reading of 3.495 under a
    limit of 3.5 is not shown as 3.5.
    """
    places = 2
    if apart_from is not None and value != apart_from:
        while places < _MOST_DECIMALS and _rounded(value, places) == _rounded(apart_from, places):
            places += 1
    return _rounded(value, places)


def _rounded(value: Decimal, places: int) -> str:
    text = f"{value:.{places}f}"
    return text.rstrip("0").rstrip(".")
