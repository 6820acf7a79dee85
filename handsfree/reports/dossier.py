"""The dossier of a visit: everything that the office reads, hears, corrects, decides and signs.

It is a fold over the journal's events and nothing else, so report, record, export and ledger all
show the same visit.
"""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import get_args

from handsfree.errors import JournalError
from handsfree.job.job import Sheet
from handsfree.job.opening import Opening
from handsfree.job.record import Record
from handsfree.journal import events as ev
from handsfree.journal import office_events as office
from handsfree.journal.reader import JOURNAL, Verification, scan_folder, verified
from handsfree.reports.current_findings import InForce
from handsfree.reports.dossier_parts import (
    CautionItem,
    FactItem,
    FaultItem,
    Matter,
    Moment,
    NoteItem,
    OfficeItem,
    ReadingItem,
    SaidItem,
    SignOff,
    UtteranceItem,
)
from handsfree.reports.fold_facts import Facts
from handsfree.reports.fold_readings import Readings
from handsfree.reports.fold_talk import Talk
from handsfree.reports.office_text import office_words, quantity_words
from handsfree.reports.open_items import Matters
from handsfree.reports.summary import Summary, summarize
from handsfree.reports.timed_runs import TimedRun


class Dossier(Record):
    """A visit as the office has it before them.

    ``opening`` is as it is known last, ``sheet`` as the job file told it. ``ended`` is the time
    of the last event of the visit itself, ``complete`` whether it was closed. ``readings`` are
    in the order of their acceptance, gone ones too; everything else is oldest first.
    ``matters`` is what the office decides before it signs. ``head`` is the hash of the last
    line, None when the journal is broken: ``verification`` says where and why, and the dossier
    holds what comes before that.
    """

    sheet: Sheet
    opening: Opening
    summary: Summary
    began: str
    ended: str
    complete: bool
    limits: str
    limits_sha256: str
    procedure: str
    procedure_sha256: str
    model: str
    version: str
    ears: str
    mouth: str
    controller: str
    readings: tuple[ReadingItem, ...]
    utterances: tuple[UtteranceItem, ...]
    said: tuple[SaidItem, ...]
    notes: tuple[NoteItem, ...]
    cautions: tuple[CautionItem, ...]
    facts: tuple[FactItem, ...]
    matters: tuple[Matter, ...]
    runs: tuple[TimedRun, ...]
    faults: tuple[FaultItem, ...]
    moments: tuple[Moment, ...]
    office: tuple[OfficeItem, ...]
    sign_offs: tuple[SignOff, ...]
    verification: Verification

    @property
    def head(self) -> str | None:
        """The hash of the last line; None when the journal is broken."""
        return self.verification.head

    @property
    def sign_off(self) -> SignOff | None:
        """The last sign-off, valid or not."""
        return self.sign_offs[-1] if self.sign_offs else None

    @property
    def signed(self) -> bool:
        """Whether the visit is signed off as it stands now."""
        return self.sign_off is not None and self.sign_off.valid

    @property
    def undecided(self) -> tuple[Matter, ...]:
        """What still keeps the office from signing."""
        return tuple(matter for matter in self.matters if matter.decision is None)

    @property
    def standing(self) -> tuple[ReadingItem, ...]:
        """The readings that were neither withdrawn nor struck."""
        return tuple(item for item in self.readings if item.gone is None)

    @property
    def by_doubt(self) -> tuple[ReadingItem, ...]:
        """The standing readings, those first that are to be doubted most."""
        return tuple(sorted(self.standing, key=lambda item: (-item.doubt.score, item.seq)))

    def reading(self, reading_id: str) -> ReadingItem | None:
        """The reading of that id, gone or not; None where there is none."""
        return next((item for item in self.readings if item.id == reading_id), None)


def load_dossier(folder: Path) -> Dossier:
    """The dossier of a visit's folder; of a broken journal, what is whole before the break.

    Raises JournalError when there is no journal, or nothing of it can be read.
    """
    found = scan_folder(folder)
    verification = verified(folder, found)
    try:
        return dossier_of(found.events, verification)
    except JournalError as error:
        broken = verification.broken
        if broken is None:
            raise
        raise JournalError(
            f"{broken.reason}: {broken.meaning}",
            file=folder / JOURNAL,
            line=broken.line,
            way_out="nothing before it can be shown; take a copy made before",
        ) from error


def dossier_of(events: Iterable[ev.Event], verification: Verification) -> Dossier:
    """Folds a journal's events, and what verifying them found, into the dossier.

    Raises JournalError when they hold no opened visit.
    """
    events = tuple(events)
    opened = next((e.body for e in events if isinstance(e.body, ev.VisitOpened)), None)
    if opened is None:
        raise JournalError("the journal holds no opened visit")
    talk, in_force, facts, matters = Talk(), InForce(), Facts(), Matters()
    readings = Readings(opened.sheet.technician)
    acts: list[OfficeItem] = []
    named: dict[str, str] = {}
    for event in events:
        body = event.body
        again = talk.again
        talk.take(event)
        readings.take(event, again)
        in_force.take(body)
        facts.take(event)
        matters.take(event)
        if isinstance(body, _OFFICE):
            acts.append(_act(event, body, named))
        elif isinstance(body, ev.ReadingAccepted):
            reading = body.reading
            named[reading.id] = f"{reading.subject}, {quantity_words(reading.quantity)}"
    job = in_force.job(opened.sheet)
    summary = summarize(events)
    return Dossier(
        sheet=opened.sheet,
        opening=job.opening,
        summary=summary,
        began=events[0].at,
        ended=summary.ended,
        complete=any(moment.kind == "visit_closed" for moment in talk.moments),
        limits=opened.limits,
        limits_sha256=opened.limits_sha256,
        procedure=opened.procedure,
        procedure_sha256=opened.procedure_sha256,
        model=opened.model,
        version=opened.version,
        ears=opened.ears,
        mouth=opened.mouth,
        controller=opened.controller,
        readings=readings.all(in_force),
        utterances=talk.all_utterances(),
        said=tuple(talk.said),
        notes=tuple(talk.notes.values()),
        cautions=tuple(talk.cautions),
        facts=facts.all(),
        matters=matters.all(in_force, facts),
        runs=summary.runs,
        faults=tuple(talk.faults),
        moments=tuple(talk.moments),
        office=tuple(acts),
        sign_offs=_sign_offs(events, verification),
        verification=verification,
    )


_OFFICE = get_args(office.OfficeBody)


def _act(event: ev.Event, body: office.OfficeBody, named: dict[str, str]) -> OfficeItem:
    return OfficeItem(
        seq=event.seq,
        at=event.at,
        by=body.by,
        kind=body.kind,
        what=office_words(body, named),
        why=getattr(body, "why", ""),
    )


def _sign_offs(events: tuple[ev.Event, ...], verification: Verification) -> tuple[SignOff, ...]:
    """Every sign-off; it holds while it names what it follows and only sign-offs follow it."""
    signed: list[SignOff] = []
    last = next((e.seq for e in reversed(events) if not isinstance(e.body, office.SignedOff)), 0)
    for event in events:
        if isinstance(event.body, office.SignedOff):
            valid = verification.whole and event.seq > last and event.body.head == event.prev
            signed.append(
                SignOff(
                    seq=event.seq,
                    at=event.at,
                    by=event.body.by,
                    head=event.body.head,
                    valid=valid,
                )
            )
    return tuple(signed)
