"""Findings as found and as left, side by side: what the work on the door changed."""

from __future__ import annotations

from handsfree.checks.evaluate import judge
from handsfree.checks.limit_set import LimitSet
from handsfree.checks.measurement_uncertainty import Rule
from handsfree.job.finding import Finding
from handsfree.job.job import Job
from handsfree.job.quantity import QUANTITIES
from handsfree.job.reading import Subject
from handsfree.job.record import Record


class Change(Record):
    """One rule before and after the adjustment; ``as_found`` is None for a new finding."""

    rule: str
    subject: Subject
    as_found: Finding | None
    as_left: Finding


def changes(
    job: Job, now: tuple[Finding, ...], limits: LimitSet, rule: Rule = "guarded"
) -> tuple[Change, ...]:
    """Every rule whose finding differs between the first attempt and the last.

    ``now`` holds the findings on the job in its present state.
    """
    before = as_found(job)
    if before is job:
        return ()
    then = {_key(found): found for found in judge(before, limits, rule)}
    return tuple(
        Change(rule=left.rule, subject=left.subject, as_found=then.get(_key(left)), as_left=left)
        for left in now
        if then.get(_key(left)) != left
    )


def as_found(job: Job) -> Job:
    """The job with only the first attempt at each quantity, and the leaves as known now."""
    first = {
        (r.quantity, r.subject): r.attempt
        for r in reversed(job.readings)
        # A leaf that is measured again has not changed: the first value was a mistake.
        if QUANTITIES[r.quantity].use != "sets a limit"
    }
    kept = [r for r in job.readings if r.attempt == first.get((r.quantity, r.subject), r.attempt)]
    return job if len(kept) == len(job.readings) else job.with_only(tuple(kept))


def _key(found: Finding) -> tuple[str, Subject, str | None]:
    return found.rule, found.subject, found.bound
