"""The parts of a dossier: one record for each thing that the office reads, hears or corrects."""

from __future__ import annotations

from decimal import Decimal
from typing import Literal

from handsfree.job.finding import Finding
from handsfree.job.reading import Reading, Subject
from handsfree.job.record import Record
from handsfree.job.unit import Measure
from handsfree.journal.events import FaultKind

Place = Literal["as found", "as left", "as found and as left", "in between"]


class ReadingAmendment(Record):
    """One correction of a reading by the office."""

    seq: int
    at: str
    by: str
    why: str
    old: Measure
    new: Measure


class Amendment(Record):
    """One correction of words by the office: of a meaning, a note, a choice."""

    seq: int
    at: str
    by: str
    why: str
    old: str
    new: str


class Gone(Record):
    """A reading stands no more: ``withdrawn`` in the visit, or ``struck`` by the office."""

    how: Literal["withdrawn", "struck"]
    seq: int
    at: str
    by: str
    why: str = ""


class Confirmation(Record):
    """The office listened to a reading and found it right. A later amendment ends it."""

    seq: int
    at: str
    by: str


class RelativeDoubt(Record):
    """How far a reading is to be doubted beside the others, 0 (not at all) to 1, and why."""

    score: float
    why: tuple[str, ...] = ()


class ReadingItem(Record):
    """A reading with its whole story.

    ``accepted`` is as the technician affirmed it (event ``seq``), ``now`` as it is after the
    amendments. ``heard_seq`` is the utterance or the run of the clock that it was heard in, and
    ``clip`` its sound; both None where the journal does not tell. ``place`` is None for one that
    is gone. ``findings`` are those in force that name it: the last run of an attempt bears them.
    """

    accepted: Reading
    now: Reading
    seq: int
    at: str
    heard_seq: int | None = None
    heard_at: str | None = None
    heard: str = ""
    clip: str | None = None
    amendments: tuple[ReadingAmendment, ...] = ()
    gone: Gone | None = None
    confirmations: tuple[Confirmation, ...] = ()
    place: Place | None = None
    findings: tuple[Finding, ...] = ()
    doubt: RelativeDoubt = RelativeDoubt(score=0.0)

    @property
    def id(self) -> str:
        """The reading's id: r1, r2, ..."""
        return self.accepted.id

    @property
    def confirmed_by(self) -> str | None:
        """Who confirmed the value that it has now."""
        last = self.amendments[-1].seq if self.amendments else 0
        return next((c.by for c in reversed(self.confirmations) if c.seq > last), None)


class UtteranceItem(Record):
    """Something that was heard.

    ``taken_for`` says in plain words what it was taken for, '' where it was not understood.
    ``kept_as`` tells of words that are no sentence and are kept all the same. ``came_of`` are
    plain words for the events of the same turn; ``step`` is the key of the step that the visit
    stood at. ``start_s`` and ``seconds`` are None for typed input. ``ignored`` when it was said
    while the tool stood by.
    """

    seq: int
    at: str
    heard: str
    taken_for: str
    understood: bool
    kept_as: Literal["note", "reason"] | None = None
    ignored: bool = False
    step: str | None = None
    clip: str | None = None
    start_s: Decimal | None = None
    seconds: Decimal | None = None
    came_of: tuple[str, ...] = ()
    amendments: tuple[Amendment, ...] = ()


class SaidItem(Record):
    """Something that the tool said; ``aloud`` false where it was only written."""

    seq: int
    at: str
    text: str
    role: str
    aloud: bool


class NoteItem(Record):
    """A note; ``text`` as heard, ``now`` in the office's words after amendments.

    ``typed_up`` is what the second ear made of its sound: nobody has checked it.
    """

    seq: int
    at: str
    step: str | None
    text: str
    now: str
    clip: str | None
    typed_up: str = ""
    amendments: tuple[Amendment, ...] = ()


class CautionItem(Record):
    """A caution that was spoken, and when its own word was said; None where it never was."""

    seq: int
    at: str
    key: str
    text: str
    word: str
    answered_seq: int | None = None
    answered_at: str | None = None
    clip: str | None = None


class FactItem(Record):
    """A choice or an observation; ``value`` is as it is now, ``accepted`` as it was affirmed.

    Snake case. ``accepted`` is '' for one that only the office knows.
    """

    seq: int
    at: str
    subject: Subject
    name: str
    value: str
    accepted: str
    clip: str | None = None
    amendments: tuple[Amendment, ...] = ()


class Decision(Record):
    """What the office decided on a matter."""

    seq: int
    at: str
    by: str
    why: str
    decision: Literal["accepted", "return_visit", "not_applicable"]


class Matter(Record):
    """Something that the office decides before it signs.

    ``key`` is what ``open_decided`` names: a step's key for a skipped one, else subject and
    rule ('left leaf/opening time') or subject and fact. ``what`` is plain words; ``word`` the
    technician's when the visit closed ('done_later', 'not_applicable', 'refused').
    ``reason_typed_up`` is what the second ear made of the reason's sound.
    """

    key: str
    kind: Literal["skipped", "not in order", "too close", "not judged"]
    what: str
    reason: str | None = None
    reason_clip: str | None = None
    reason_typed_up: str = ""
    word: str | None = None
    decision: Decision | None = None


class FaultItem(Record):
    """Something of the sound, the voice or the machine that went wrong, or is in order again."""

    seq: int
    at: str
    what: FaultKind
    detail: str
    lost_s: Decimal | None


class Moment(Record):
    """Anything else on the time line, in plain words: a step, a break, 'stand by'.

    ``kind`` is that of its event.
    """

    seq: int
    at: str
    kind: str
    what: str


class OfficeItem(Record):
    """One act of the office, in plain words."""

    seq: int
    at: str
    by: str
    kind: str
    what: str
    why: str = ""


class SignOff(Record):
    """A sign-off. ``valid`` while it names the journal that it follows and nothing but
    sign-offs came after it, in a journal that is whole."""

    seq: int
    at: str
    by: str
    head: str
    valid: bool
