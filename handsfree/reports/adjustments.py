"""Lists the changes made to the door in a visit, and the final state of its controller."""

from __future__ import annotations

from typing import NamedTuple

from handsfree.job.fault_kinds import MISTAKEN
from handsfree.journal.plain_words import words_of
from handsfree.reports.printed_words import printed_words
from handsfree.reports.reading_rows import groups_of
from handsfree.reports.record_readings import printed_settings
from handsfree.visit_record.controller_set_up import AS_FOUND
from handsfree.visit_record.visit_record import VisitRecord


class Adjustment(NamedTuple):
    """One change: ``before`` and ``after`` are values, or the fault and the work on it.

    ``kind`` names the style of the verdict, ``verdict`` is its text.
    """

    what: str
    before: str
    after: str
    kind: str
    verdict: str


def adjustments_of(visit: VisitRecord) -> tuple[Adjustment, ...]:
    """The faults that were worked on, and the quantities whose value changed."""
    measured = [
        Adjustment(
            f"{group.subject}: {row.what}", row.found, row.left, row.verdict, row.verdict_words
        )
        for group in groups_of(visit)
        for row in group.rows
        if row.found and row.left and row.found != row.left
    ]
    worked = []
    for life in visit.door_faults:
        if life.work in (None, "nothing", MISTAKEN) or life.withdrawn:
            continue
        done = words_of(life.work or "") + (f" ({words_of(life.part)})" if life.part else "")
        kind, verdict = ("fail", "still open") if life.open else ("pass", "put right")
        worked.append(Adjustment(life.what, life.words or "", done, kind, verdict))
    return (*worked, *measured)


def set_up_rows(visit: VisitRecord) -> tuple[tuple[str, str, str], ...]:
    """The final entries and settings of the controller: place, name, and value."""
    how = {"made": "", "left": "left out", "failed": "failed"}
    made = [
        (row.called or "", row.name, ", ".join(filter(None, (row.value, how[row.outcome]))))
        for row in visit.set_up
        if not row.entry.startswith(AS_FOUND)
    ]
    return (*made, *(("", name, value) for name, value in printed_settings(visit, printed_words())))
