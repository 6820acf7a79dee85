"""Checks of a pair as a whole: both leaves measured, differences, closing order."""

from __future__ import annotations

import math

from handsfree.checks.limit_set import LimitSet
from handsfree.checks.measurement_uncertainty import uncertainty_of
from handsfree.checks.number_format import figure, unit_name
from handsfree.checks.scope import out_of_scope
from handsfree.job.finding import Finding, Verdict
from handsfree.job.job import Job, leaf_side
from handsfree.job.quantity import QUANTITIES, Quantity
from handsfree.job.reading import LEAF_SUBJECTS, Subject
from handsfree.job.unit import Family

CLOSING_ORDER = "closing order"
ORDER_FACT = "latch_order"
"""The observation 'both leaves close together, the inactive one first'."""

_COMPARED = (
    Quantity.OPENING_TIME,
    Quantity.TOTAL_OPENING_TIME,
    Quantity.HOLD_OPEN_TIME,
    Quantity.CLOSING_TIME,
    Quantity.LATCHING_TIME,
    Quantity.OPENING_FORCE,
    Quantity.CLOSING_FORCE,
)


def judge_pair(job: Job, limits: LimitSet) -> tuple[Finding, ...]:
    """Findings on the leaves together; none for a single leaf."""
    if len(job.opening.leaves) < 2 or out_of_scope(job.opening) is not None:
        return ()
    return (*_unread(job, limits), *_order(job, limits))


def asymmetry(job: Job) -> tuple[str, ...]:
    """Differences between the leaves of a pair that exceed the uncertainty of both readings.

    No limit is known for them; the technician has to find the cause.
    """
    told = []
    for quantity in _COMPARED:
        runs = [job.runs(quantity, subject) for subject in LEAF_SUBJECTS]
        if not all(runs):
            continue
        left, right = (uncertainty_of(mine, runs[0][-1].unit) for mine in runs)
        apart = abs(left.mean - right.mean)
        if float(apart) > math.hypot(float(left.guard_band), float(right.guard_band)):
            unit = unit_name(left.unit)
            told.append(
                f"the leaves differ: the {QUANTITIES[quantity].spoken} is "
                f"{figure(left.mean, right.mean)} {unit} on the left leaf and "
                f"{figure(right.mean, left.mean)} on the right leaf"
            )
    return tuple(told)


def _unread(job: Job, limits: LimitSet) -> list[Finding]:
    """Findings on quantities that were read on one leaf only: a pair is judged as a whole."""
    found = []
    seen = dict.fromkeys((r.quantity, r.subject) for r in job.readings if leaf_side(r.subject))
    for quantity, subject in seen:
        other = _other(subject)
        of_the_leaf = QUANTITIES[quantity].family in (Family.TIME, Family.FORCE)
        if of_the_leaf and (quantity, other) not in seen:
            found.append(
                Finding(
                    rule=QUANTITIES[quantity].spoken,
                    subject=other,
                    quantity=quantity,
                    verdict=Verdict.NOT_JUDGED,
                    source=limits.name,
                    why=f"the {QUANTITIES[quantity].spoken} of the {other} was not read, and "
                    "both leaves of a pair are judged",
                )
            )
    return found


def _order(job: Job, limits: LimitSet) -> list[Finding]:
    """The finding on the closing order, where it was observed."""
    seen = job.fact(Subject.OPENING, ORDER_FACT)
    if seen is None:
        return []
    in_order = seen == "in_order"
    source = next((r.cite() for r in limits.reminder if r.name == CLOSING_ORDER), "observed")
    return [
        Finding(
            rule=CLOSING_ORDER,
            subject=Subject.OPENING,
            quantity=None,
            verdict=Verdict.PASS if in_order else Verdict.FAIL,
            source=f"{limits.name}; {source}",
            why="the inactive leaf closes first"
            if in_order
            else "the leaves close in the wrong order: the inactive leaf has to close first",
            advice="" if in_order else "set the coordinator, or let the other leaf wait longer",
        )
    ]


def _other(subject: Subject) -> Subject:
    return Subject.RIGHT_LEAF if subject is Subject.LEFT_LEAF else Subject.LEFT_LEAF
