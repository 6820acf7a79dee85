"""The record of a visit: one pass over the journal's events builds every part of it."""

from __future__ import annotations

from collections.abc import Iterable

from handsfree.errors import JournalError
from handsfree.job.finding import Finding
from handsfree.job.job import Job, LastVisit, Sheet
from handsfree.job.opening import Opening
from handsfree.job.record import Record
from handsfree.journal import events as ev
from handsfree.journal import office_events as office
from handsfree.journal.paper_events import PhotoKept
from handsfree.journal.reader import Verification
from handsfree.visit_record.controller_set_up import SetUpRow, ShownCode
from handsfree.visit_record.cycles import Cycles, TimedRun
from handsfree.visit_record.door_fault import DoorFault
from handsfree.visit_record.facts import Facts, FactStory
from handsfree.visit_record.faults import Faults
from handsfree.visit_record.office_changes import OfficeChange, OfficeChanges, Sample, SignOff
from handsfree.visit_record.open_items import LeftOpen, OpenItem, OpenItems, Skipped
from handsfree.visit_record.progress import Course, advance
from handsfree.visit_record.reading_story import Attempt, MeasuredQuantity, ReadingStory
from handsfree.visit_record.readings import Readings
from handsfree.visit_record.talk import Talk
from handsfree.visit_record.talk_items import (
    Caution,
    Note,
    Occurrence,
    RecordedFault,
    Spoken,
    Utterance,
)
from handsfree.visit_record.visit_facts import Photo, VisitFacts, VisitFactStory

NOT_VERIFIED = Verification(whole=False, lines=0, clips=0, recovered=0, head=None)
"""Used in a record whose journal was not verified: no sign-off in it is valid."""


class VisitRecord(Record):
    """A visit as recorded in its journal.

    ``opened`` is the event that began it, ``job`` the present knowledge about the door. ``ended``
    is the time of the last event of the visit itself, without the office's; ``complete`` is true if
    it was closed. ``readings`` are in the order of acceptance and include withdrawn ones;
    everything else is oldest first. ``door_faults`` are faults of the door, ``faults`` those of
    sound, voice and machine. ``quantities`` summarizes the valid readings, ``answers`` the answered
    cautions. ``set_up`` holds the final entries of the controller, ``codes`` the codes that it
    showed. ``withdrawn``, ``amended`` and ``struck`` count readings. ``visit_facts`` is in the
    order of visit_facts.toml, ``struck_visit_facts`` holds those struck out by the office;
    ``photos`` are in the order in which they were taken in. ``verification`` says whether the
    journal is intact; for a broken one, the record covers the part before the break.
    """

    opened: ev.VisitOpened
    job: Job
    began: str
    ended: str
    complete: bool
    readings: tuple[ReadingStory, ...]
    quantities: tuple[MeasuredQuantity, ...]
    withdrawn: int
    amended: int
    struck: int
    utterances: tuple[Utterance, ...]
    said: tuple[Spoken, ...]
    notes: tuple[Note, ...]
    cautions: tuple[Caution, ...]
    answers: tuple[str, ...]
    facts: tuple[FactStory, ...]
    visit_facts: tuple[VisitFactStory, ...]
    struck_visit_facts: tuple[VisitFactStory, ...]
    photos: tuple[Photo, ...]
    skipped: tuple[Skipped, ...]
    left_open: tuple[LeftOpen, ...]
    open_items: tuple[OpenItem, ...]
    door_faults: tuple[DoorFault, ...]
    set_up: tuple[SetUpRow, ...]
    codes: tuple[ShownCode, ...]
    runs: tuple[TimedRun, ...]
    faults: tuple[RecordedFault, ...]
    occurrences: tuple[Occurrence, ...]
    office: tuple[OfficeChange, ...]
    samples: tuple[Sample, ...]
    sign_offs: tuple[SignOff, ...]
    verification: Verification

    @property
    def sheet(self) -> Sheet:
        """The content of the job file."""
        return self.opened.sheet

    @property
    def last_visit(self) -> LastVisit | None:
        """Values from the previous visit; None if the job file names none."""
        return self.sheet.last_visit

    @property
    def opening(self) -> Opening:
        """The opening as known now."""
        return self.job.opening

    @property
    def rehearsal(self) -> bool:
        """True if its door was simulated."""
        return self.opened.ears.startswith(ev.REHEARSAL)

    @property
    def head(self) -> str | None:
        """The hash of the journal's last line; None when the journal is broken."""
        return self.verification.head

    @property
    def sign_off(self) -> SignOff | None:
        """The last sign-off, valid or not, or None."""
        return self.sign_offs[-1] if self.sign_offs else None

    @property
    def signed(self) -> bool:
        """True if the visit is signed off in its present state."""
        return self.sign_off is not None and self.sign_off.valid

    @property
    def undecided(self) -> tuple[OpenItem, ...]:
        """The open items without a decision of the office."""
        return tuple(item for item in self.open_items if item.decision is None)

    @property
    def standing(self) -> tuple[ReadingStory, ...]:
        """The valid readings: neither withdrawn nor struck."""
        return tuple(story for story in self.readings if story.gone is None)

    @property
    def by_doubt(self) -> tuple[ReadingStory, ...]:
        """The valid readings, most doubtful first."""
        return tuple(sorted(self.standing, key=lambda story: (-story.doubt.score, story.seq)))

    def findings_by_attempt(self) -> dict[Attempt, tuple[Finding, ...]]:
        """The current findings on each attempt; they are attached to its last run."""
        found: dict[Attempt, tuple[Finding, ...]] = {}
        for story in self.standing:
            found[story.attempt] = (*found.get(story.attempt, ()), *story.findings)
        return found

    def reading(self, reading_id: str) -> ReadingStory | None:
        """The reading with that id, valid or not; None if there is none."""
        return next((story for story in self.readings if story.id == reading_id), None)


class VisitFold:
    """Builds the record from events, which it takes in order.

    Its parts can be read at any time; ``record`` makes the whole record.
    """

    def __init__(self) -> None:
        self.opened: ev.VisitOpened | None = None
        self.course = Course()
        self.readings = Readings()
        self.facts = Facts()
        self.visit_facts = VisitFacts()
        self.talk = Talk()
        self._cycles = Cycles()
        self._faults = Faults()
        self._open_items = OpenItems()
        self._office = OfficeChanges()
        self._began: str | None = None
        self._ended = ""
        self._of_office = False

    def apply(self, event: ev.Event) -> None:
        """Follows one event."""
        body = event.body
        if self.opened is None and isinstance(body, ev.VisitOpened):
            self.opened = body
        technician = self.opened.sheet.technician if self.opened is not None else ""
        self.course = advance(self.course, body)
        self.readings.apply(event, technician, self.talk.refusals)
        self.facts.apply(event)
        self.visit_facts.apply(event)
        self.talk.apply(event, self.course)
        self._cycles.apply(event)
        self._faults.apply(event, self.course.faults)
        self._open_items.apply(event)
        self._office.apply(event)
        self._follow_time(event)

    def record(self, verification: Verification = NOT_VERIFIED) -> VisitRecord:
        """The record of the events so far. Raises JournalError if they do not open a visit."""
        if self.opened is None or self._began is None:
            raise JournalError("the journal holds no opened visit")
        job = Job.open(self.opened.sheet)
        job = job.model_copy(update={"facts": tuple(self.facts.values.values())})
        items = self._open_items
        return VisitRecord(
            opened=self.opened,
            job=job.with_only(tuple(self.readings.by_id.values())),  # the opening follows both
            began=self._began,
            ended=self._ended,
            complete=self.course.closed,
            readings=self.readings.stories(),
            quantities=self.readings.quantities(),
            withdrawn=self.readings.withdrawn,
            amended=self.readings.amended,
            struck=self.readings.struck,
            utterances=self.talk.utterances(),
            said=tuple(self.talk.said),
            notes=tuple(self.talk.notes.values()),
            cautions=tuple(self.talk.cautions),
            answers=tuple(self.talk.answers),
            facts=tuple(self.facts.stories.values()),
            visit_facts=self.visit_facts.stories,
            struck_visit_facts=tuple(self.visit_facts.struck),
            photos=tuple(self.visit_facts.photos),
            skipped=items.skipped(self.course),
            left_open=items.left_open(self.course),
            open_items=items.items(self.readings, self.facts, self.course),
            door_faults=self._faults.all,
            set_up=self.course.controller.rows,
            codes=self.course.controller.shown_codes,
            runs=self._cycles.runs(),
            faults=tuple(self.talk.faults),
            occurrences=tuple(self.talk.occurrences),
            office=tuple(self._office.changes),
            samples=tuple(self._office.samples),
            sign_offs=self._office.sign_offs(whole=verification.whole),
            verification=verification,
        )

    def _follow_time(self, event: ev.Event) -> None:
        """Tracks the time of the last event of the visit itself, without the office's events."""
        if self._began is None:
            self._began = self._ended = event.at
        if isinstance(event.body, PhotoKept):
            return  # photos may be taken in days later
        if isinstance(event.body, office.OfficeBody):
            self._of_office = True
        elif not (self._of_office and isinstance(event.body, ev.Judged)):
            self._ended, self._of_office = event.at, False


def record_of(events: Iterable[ev.Event], verification: Verification = NOT_VERIFIED) -> VisitRecord:
    """Builds the record from a journal's events and its verification.

    Raises JournalError if they do not open a visit.
    """
    fold = VisitFold()
    for event in events:
        fold.apply(event)
    return fold.record(verification)
