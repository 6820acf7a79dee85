"""Conditions of a step: properties of the opening and facts found on it."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from itertools import combinations
from typing import NamedTuple

from handsfree.job.door_feature import FEATURES, NAMED_CONDITIONS, UNKNOWN, YES_NO
from handsfree.job.feature_values import opening_feature
from handsfree.job.job import Job
from handsfree.job.reading import Subject

DEFECTS = "defects"
"""The condition that something was found not OK in this visit, or named as a fault."""
REMOVED = "controller_removed"
"""The condition that the old controller has already been removed."""
CONDITIONS = (*NAMED_CONDITIONS, DEFECTS, REMOVED)
"""Conditions with a name; door_features.toml lists those about the door."""
_FOUND = re.compile(r"(\w+) is (\w+)")


class _Wanted(NamedTuple):
    """A condition that holds while a feature or fact has one of these values, or has none.

    ``all_values`` lists its values if it always has one; None if it may have none.
    """

    name: str
    values: frozenset[str]
    negated: bool
    all_values: frozenset[str] | None


def required_fact(condition: str) -> tuple[str, str] | None:
    """Splits 'complaint is slams' or 'not complaint is slams' into fact and value; else None."""
    match = _FOUND.fullmatch(condition.removeprefix("not "))
    return (match[1], match[2]) if match else None


def feature_of(condition: str) -> str | None:
    """The feature of the opening that a condition depends on, or None."""
    name = _read(condition).name
    return name if name in FEATURES and FEATURES[name].of == "opening" else None


def holds(condition: str, job: Job) -> bool:
    """True if a condition holds for the known facts about the opening.

    A fact not observed yet has no value. A feature unknown to the technician has its safe value.
    """
    wanted = _read(condition)
    return (_value(wanted.name, job) in wanted.values) is not wanted.negated


def exclusive_pairs(conditions: Iterable[str]) -> Iterator[tuple[str, str]]:
    """Yields the pairs of conditions that exclude each other."""
    for one, other in combinations(conditions, 2):
        if _exclude(_read(one), _read(other)):
            yield one, other


def _read(condition: str) -> _Wanted:
    bare = condition.removeprefix("not ")
    if bare in (DEFECTS, REMOVED):
        return _Wanted(bare, frozenset({"yes"}), bare != condition, frozenset(YES_NO))
    if bare in NAMED_CONDITIONS:
        name, values = NAMED_CONDITIONS[bare].feature, NAMED_CONDITIONS[bare].values
    else:
        name, value = required_fact(bare) or (bare, "")
        values = frozenset({value})
    feature = FEATURES.get(name)
    always = frozenset(feature.values) if feature is not None and feature.known else None
    return _Wanted(name, values, bare != condition, always)


def _value(name: str, job: Job) -> str | None:
    if name == REMOVED:
        return "yes" if job.opening.controller_removed else "no"
    if name == DEFECTS:
        seen = any(fact.value == "not_in_order" for fact in job.facts)
        return "yes" if seen or job.open_faults else "no"
    feature = FEATURES.get(name)
    if feature is None or feature.of != "opening":
        return job.fact(Subject.OPENING, name)
    value = opening_feature(job.opening, name)
    return feature.unknown if value == UNKNOWN else value


def _exclude(one: _Wanted, other: _Wanted) -> bool:
    if one.name != other.name:
        return False
    if one.negated and other.negated:
        # Together they exclude every possible value.
        return one.all_values is not None and one.values | other.values >= one.all_values
    if one.negated:
        return other.values <= one.values
    if other.negated:
        return one.values <= other.values
    return not one.values & other.values
