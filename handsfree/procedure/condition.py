"""Conditions of a step: properties of the opening and facts found on it."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from itertools import combinations

from handsfree.job.job import Job
from handsfree.job.opening import Lock, Swing
from handsfree.job.reading import Subject

CONDITIONS = (
    *("single", "pair", "same_way", "double_egress", "fire_rated", "sensors", "lock"),
    *("strike", "astragal", "power_fail_spring", "vestibule", "guide_rails"),
    *("controller_removed", "defects"),
)
_FOUND = re.compile(r"(\w+) is (\w+)")
_EXCLUDE: tuple[set[str], ...] = (
    {"single", "pair"},
    {"single", "same_way"},
    {"single", "double_egress"},
    {"same_way", "double_egress"},
    {"not single", "not pair"},
    {"same_way", "not pair"},
    {"double_egress", "not pair"},
    {"strike", "not lock"},
)
"""Conditions that exclude each other, besides a condition and its own 'not'."""


def required_fact(condition: str) -> tuple[str, str] | None:
    """Splits 'complaint is slams' or 'not complaint is slams' into fact and value; else None."""
    match = _FOUND.fullmatch(condition.removeprefix("not "))
    return (match[1], match[2]) if match else None


def holds(condition: str, job: Job) -> bool:
    """True if a condition holds for what is known of the opening.

    A fact that was not observed yet has no value.
    """
    if condition.startswith("not "):
        return not holds(condition.removeprefix("not "), job)
    if fact := required_fact(condition):
        name, value = fact
        return job.fact(Subject.OPENING, name) == value
    opening = job.opening
    return {
        "single": len(opening.leaves) == 1,
        "pair": len(opening.leaves) == 2,
        "same_way": opening.swing is Swing.SAME_WAY,
        "double_egress": opening.swing is Swing.DOUBLE_EGRESS,
        "fire_rated": opening.fire_rated,
        "sensors": opening.sensors,
        "lock": opening.lock is not Lock.NONE,
        "strike": opening.lock is Lock.STRIKE,
        "astragal": opening.astragal,
        "power_fail_spring": opening.power_fail_spring,
        "vestibule": opening.vestibule,
        "controller_removed": opening.controller_removed,
        "guide_rails": opening.guide_rails,
        "defects": any(fact.value == "not_in_order" for fact in job.facts),
    }[condition]


def exclusive_pairs(conditions: Iterable[str]) -> Iterator[tuple[str, str]]:
    """Yields the pairs of conditions that exclude each other."""
    for one, other in combinations(conditions, 2):
        opposite = f"not {one}" == other or one == f"not {other}"
        if opposite or {one, other} in _EXCLUDE or _two_values(one, other):
            yield one, other


def _two_values(one: str, other: str) -> bool:
    """True if two conditions require two values of one fact."""
    if one.startswith("not ") or other.startswith("not "):
        return False
    first, second = required_fact(one), required_fact(other)
    return bool(first and second and first[0] == second[0] and first[1] != second[1])
