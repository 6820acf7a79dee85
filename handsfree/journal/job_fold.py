"""The job that a journal's events add up to."""

from __future__ import annotations

from collections.abc import Iterable

from handsfree.errors import JournalError
from handsfree.job.job import Fact, Job
from handsfree.journal import events as ev
from handsfree.journal import office_events as office


def fold_job(job: Job | None, body: ev.Body) -> Job | None:
    """The job after one more event; None before the visit is opened."""
    match body:
        case ev.VisitOpened(sheet=sheet):
            return Job.open(sheet)
        case ev.ReadingAccepted(reading=reading) if job is not None:
            return job.with_reading(reading)
        case ev.ReadingWithdrawn(reading_id=reading_id) if job is not None:
            return job.without_reading(reading_id)
        case office.ReadingStruck(reading_id=reading_id) if job is not None:
            return job.without_reading(reading_id)
        case office.ReadingAmended(reading_id=reading_id, new=new) if job is not None:
            return job.with_amended(reading_id, new)
        case office.FactAmended(subject=subject, name=name, new=value) if job is not None:
            return job.with_fact(Fact(subject=subject, name=name, value=value))
        case ev.FactAccepted(fact=fact) if job is not None:
            return job.with_fact(fact)
        case _:
            return job


def job_of(events: Iterable[ev.Event]) -> Job:
    """The job of a whole journal. Raises JournalError when no visit was opened in it."""
    job: Job | None = None
    for event in events:
        job = fold_job(job, event.body)
    if job is None:
        raise JournalError("the journal holds no opened visit")
    return job
