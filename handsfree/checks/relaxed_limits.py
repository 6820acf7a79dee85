"""Marks values of a company's set that allow more than the set that it extends."""

from __future__ import annotations

from typing import TypeVar

from handsfree.checks.least_travel_time import extra_to_fully_open_s
from handsfree.checks.limit_set import (
    Formula,
    Limit,
    Limits,
    LimitSet,
    Physics,
    Sourced,
    TableOne,
    TableTwo,
)
from handsfree.job.finding import Binding
from handsfree.job.unit import convert

S = TypeVar("S", bound=Sourced)


def list_looser_values(own: LimitSet, base: LimitSet) -> LimitSet:
    """The set with ``looser_than`` on every value that allows more than the base does."""
    limits = {
        key: _told(mine, _asked(base, theirs, mine))
        for key in Limits.model_fields
        if (mine := getattr(own.limit, key)) is not None
        and (theirs := getattr(base.limit, key)) is not None
        and _limit(mine, theirs)
    }
    update: dict[str, object] = {"limit": own.limit.model_copy(update=limits)}
    if own.table_one and base.table_one and _table_one(own.table_one, base.table_one):
        update["table_one"] = _told(own.table_one, f"the table of {base.name}")
    if own.formula and base.formula and _formula(own.formula, base.formula):
        update["formula"] = _told(own.formula, f"the formula of {base.name}")
    if own.physics and base.physics and _physics(own.physics, base.physics):
        update["physics"] = _told(own.physics, f"the steps of {base.name}")
    if own.table_two and base.table_two and _table_two(own, base, base.table_two):
        update["table_two"] = _told(own.table_two, f"the table of {base.name}")
    return own.model_copy(update=update)


def _told(value: S, than: str) -> S:
    return value.model_copy(update={"looser_than": than})


def _asked(base: LimitSet, theirs: Limit, mine: Limit) -> str:
    """The requirement of the base: 'a156.19, at least 1.5 s'."""
    required = ", required" if mine.binding is not theirs.binding else ""
    return f"{base.name}, {theirs.bound} {theirs.value} {theirs.unit}{required}"


def _limit(mine: Limit, theirs: Limit) -> bool:
    if theirs.binding is Binding.REQUIREMENT and mine.binding is Binding.RECOMMENDATION:
        return True
    value = convert(mine.value, mine.unit, theirs.unit)
    return value < theirs.value if theirs.bound == "at least" else value > theirs.value


def _table_one(mine: TableOne, theirs: TableOne) -> bool:
    sizes = (
        (width, weight, theirs.cell(width, weight))
        for width in theirs.widths_in
        for weight in theirs.weights_lb
    )
    return any(
        (mine.up_to(width, weight) or 0) < seconds
        for width, weight, seconds in sizes
        if seconds is not None
    )


def _formula(mine: Formula, theirs: Formula) -> bool:
    larger = mine.constant_in_lb > theirs.constant_in_lb
    return larger or mine.round_up_to_s < theirs.round_up_to_s


def _physics(mine: Physics, theirs: Physics) -> bool:
    return mine.round_up_to_s < theirs.round_up_to_s


def _table_two(own: LimitSet, base: LimitSet, rows: TableTwo) -> bool:
    return any(
        (extra_to_fully_open_s(angle, own) or 0) < (extra_to_fully_open_s(angle, base) or 0)
        for angle in rows.backcheck_deg
    )
