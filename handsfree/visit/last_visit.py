"""Reads the last visit from its folder, to show its values next to the new ones."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path

from handsfree.errors import JobError
from handsfree.job.job import Job, LastVisit
from handsfree.visit_record.load import load_record


def visit_reader(today: date) -> Callable[[Path, str], LastVisit]:
    """A reader of last visits for a job file that is opened ``today``."""

    def read(folder: Path, opening: str) -> LastVisit:
        visit = load_record(folder)
        if visit.head is None:
            raise JobError(
                "the journal of that visit is broken",
                way_out=f"'handsfree verify {folder}' says what is wrong",
            )
        if visit.opening.name.casefold() != opening.casefold():
            raise JobError(
                f"that visit was at '{visit.opening.name}'", way_out="name a visit at this door"
            )
        return left_by(visit.job, visit.began[:10], today, visit.head)

    return read


def left_by(job: Job, on: str, today: date, head: str = "") -> LastVisit:
    """Selects the values of a visit that began ``on`` a day, for the next visit ``today``.

    ``on`` is YYYY-MM-DD.
    """
    measured = dict.fromkeys((each.quantity, each.subject) for each in job.readings)
    as_left = (run for quantity, subject in measured for run in job.runs(quantity, subject))
    return LastVisit(
        reference=job.sheet.reference,
        on=on,
        readings=tuple(run.model_copy(update={"clip": None, "log": None}) for run in as_left),
        facts=job.facts,
        last_year=int(on[:4]) == today.year - 1,
        head=head,
    )
