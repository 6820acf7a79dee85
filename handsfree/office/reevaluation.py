"""New findings after a change by the office, from the limit set of the visit."""

from __future__ import annotations

from collections.abc import Collection
from decimal import Decimal

from handsfree.checks.evaluate import judge
from handsfree.checks.limit_set import LimitSet
from handsfree.job.finding import Finding
from handsfree.job.job import Job
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Reading, Subject

Attempt = tuple[Quantity, Subject, int]
# The hold-open time depends on the first, the last stretch of the opening on the second.
_REACHES_OTHERS = (Quantity.PLATE_DISTANCE, Quantity.OPENING_TIME)


def reevaluated_findings(
    before: Job, after: Job, limits: LimitSet, touched: Reading | None = None
) -> tuple[Finding, ...]:
    """The findings changed by an amendment, those as found first.

    Findings on the attempt of the ``touched`` reading and on the last attempt at its quantity are
    always included, because those on the old value no longer count. Others are included if they
    have changed, for instance because a time that passed fails on a wider leaf.
    """
    same_door = before.opening == after.opening
    if touched is not None and touched.quantity in _REACHES_OTHERS:
        same_door = False
    attempts = _attempts(after)
    must: set[Attempt] = set()
    if touched is not None:
        mine = [a for a in attempts if a[:2] == (touched.quantity, touched.subject)]
        must = {*mine[-1:], *(a for a in mine if a[2] == touched.attempt)}
    asked = [a for a in attempts if a in must or not same_door]
    found: list[Finding] = []
    for attempt in asked:
        now = _on(after, attempt, limits)
        if attempt in must or now != _on(before, attempt, limits):
            found += now
    return tuple(found)


def _attempts(job: Job) -> tuple[Attempt, ...]:
    """Every attempt at every quantity, earlier attempts first."""
    of: dict[Attempt, Decimal] = {}
    for reading in job.readings:
        of.setdefault((reading.quantity, reading.subject, reading.attempt), reading.value)
    return tuple(sorted(of, key=lambda attempt: attempt[2]))


def _on(job: Job, attempt: Attempt, limits: LimitSet) -> tuple[Finding, ...]:
    """The findings on one attempt, judged as if it were the last one.

    The opening stays as it is known now.
    """
    quantity, subject, number = attempt
    readings = _until(job.readings, quantity, subject, number)
    view = job.model_copy(update={"readings": readings})
    only: Collection[tuple[Quantity, Subject]] = ((quantity, subject),)
    return judge(view, limits, only=only)


def _until(
    readings: tuple[Reading, ...], quantity: Quantity, subject: Subject, number: int
) -> tuple[Reading, ...]:
    return tuple(
        r
        for r in readings
        if r.quantity is not quantity or r.subject is not subject or r.attempt <= number
    )
