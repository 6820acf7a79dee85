"""Loads a visit's folder, from Python."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal
from pathlib import Path

from handsfree.job.finding import Verdict, ruling
from handsfree.job.record import Record
from handsfree.journal.reader import CLIPS
from handsfree.public.door_check import DoorFinding, door_finding
from handsfree.reports.summary import findings_as_left, summary_of
from handsfree.visit_record import open_items
from handsfree.visit_record.load import load_record
from handsfree.visit_record.reading_story import ReadingStory
from handsfree.visit_record.visit_record import VisitRecord


class VisitReading(Record):
    """A valid reading, with the office's corrections.

    ``attempt`` counts from 1 and rises after an adjustment; ``run`` counts from 1 within an
    attempt. ``place`` is 'as found', 'as left', 'as found and as left' or 'in between'. ``verdict``
    is None if no finding covers this run. ``heard`` holds the recognized words, ``clip`` is the
    file with their sound, or None. ``amended`` is True if the office changed the value.
    """

    subject: str
    quantity: str
    value: Decimal
    unit: str
    attempt: int
    run: int
    place: str | None
    verdict: Verdict | None
    heard: str
    clip: Path | None
    amended: bool


class OpenItem(Record):
    """An item that needs a decision of the office before sign-off: a skipped step, a rule that
    fails.

    ``decision`` is 'accepted', 'return_visit' or 'not_applicable', or None so far.
    """

    kind: str
    what: str
    decision: str | None


class Visit(Record):
    """A visit, as recorded in its journal.

    ``began`` and ``ended`` are times in UTC, ``complete`` is True if it was closed, ``verdict`` is
    its result in one sentence. ``head`` is the hash of the journal's last line. In a broken journal
    ``head`` is None and ``broken`` says where and why; everything else comes from the lines before
    that. ``signed_by`` is None unless the visit is signed off in its present state.
    """

    reference: str
    site: str
    opening: str
    technician: str
    began: datetime
    ended: datetime
    complete: bool
    procedure: str
    limits: str
    verdict: str
    readings: tuple[VisitReading, ...]
    findings: tuple[DoorFinding, ...]
    open_items: tuple[OpenItem, ...]
    notes: tuple[str, ...]
    signed_by: str | None
    head: str | None
    broken: str | None

    @property
    def whole(self) -> bool:
        """True if the journal and the sound clips are intact."""
        return self.broken is None


def load_visit(folder: str | Path) -> Visit:
    """Reads and verifies the visit of a folder; nothing in the folder changes.

    A broken journal is loaded up to the break. Raises JournalError, a HandsfreeError, if there is
    no journal or nothing in it can be read.
    """
    folder = Path(folder)
    return _visit(load_record(folder), folder)


def _visit(visit: VisitRecord, folder: Path) -> Visit:
    sheet, broken = visit.sheet, visit.verification.broken
    sign_off = visit.sign_off
    return Visit(
        reference=sheet.reference,
        site=sheet.site,
        opening=visit.opening.name,
        technician=sheet.technician,
        began=datetime.fromisoformat(visit.began),
        ended=datetime.fromisoformat(visit.ended),
        complete=visit.complete,
        procedure=visit.opened.procedure,
        limits=visit.opened.limits,
        verdict=summary_of(visit).verdict,
        readings=tuple(_reading(each, folder) for each in visit.standing),
        findings=tuple(map(door_finding, findings_as_left(visit))),
        open_items=tuple(_open_item(each) for each in visit.open_items),
        notes=tuple(note.now for note in visit.notes),
        signed_by=sign_off.by if sign_off is not None and visit.signed else None,
        head=visit.head,
        broken=None if broken is None else broken.told,
    )


def _reading(item: ReadingStory, folder: Path) -> VisitReading:
    now = item.now
    return VisitReading(
        subject=now.subject,
        quantity=now.quantity,
        value=now.value,
        unit=now.unit,
        attempt=now.attempt,
        run=now.run,
        place=item.place,
        verdict=ruling(item.findings),
        heard=item.heard,
        # A foreign journal may name any file, so only names below the clips folder count.
        clip=None if item.clip is None else folder / CLIPS / Path(item.clip).name,
        amended=bool(item.amendments),
    )


def _open_item(item: open_items.OpenItem) -> OpenItem:
    decision = item.decision
    return OpenItem(
        kind=item.kind,
        what=item.what,
        decision=None if decision is None else decision.decision,
    )
