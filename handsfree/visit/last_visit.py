"""Reads the visit before this one from its folder, for its values beside the new ones."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from handsfree.errors import HandsfreeError, JobError
from handsfree.job.job import Sheet
from handsfree.journal.paper_events import LastVisitRead
from handsfree.visit_record.load import load_record
from handsfree.visit_record.visit_record import VisitRecord


def read_last_visit(sheet: Sheet, today: date) -> LastVisitRead | None:
    """The visit that a job file names as its last one; None where it names none.

    Raises JobError for a folder that holds no whole visit, and for a visit at another door.
    """
    if not sheet.last_visit:
        return None
    folder = Path(sheet.last_visit)
    try:
        visit = load_record(folder)
    except HandsfreeError as error:
        raise JobError(
            f"last_visit cannot be read: {error.message}",
            file=folder,
            way_out="name the folder of a visit, or leave last_visit out",
        ) from error
    if visit.head is None:
        raise JobError(
            "last_visit is not whole",
            file=folder,
            way_out=f"'handsfree verify {folder}' says what is wrong; or leave last_visit out",
        )
    if visit.opening.name != sheet.opening.name:
        raise JobError(
            f"last_visit was at '{visit.opening.name}', and this job is at '{sheet.opening.name}'",
            file=folder,
            way_out="name a visit at this door, or leave last_visit out",
        )
    return last_visit_of(visit, visit.head, today)


def last_visit_of(visit: VisitRecord, head: str, today: date) -> LastVisitRead:
    """What is kept of a visit for the next one; ``head`` is the hash of its last line."""
    job = visit.job
    measured = dict.fromkeys((each.quantity, each.subject) for each in job.readings)
    as_left = (run for quantity, subject in measured for run in job.runs(quantity, subject))
    day = visit.began[:10]
    return LastVisitRead(
        reference=visit.sheet.reference,
        day=day,
        last_year=int(day[:4]) == today.year - 1,
        head=head,
        procedure=visit.opened.procedure,
        opening=visit.opening,
        readings=tuple(run.model_copy(update={"clip": None, "log": None}) for run in as_left),
        facts=job.facts,
    )
