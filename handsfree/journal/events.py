"""All kinds of events in a visit's journal.

The body of an event is a frozen record; ``kind`` names it. The job, the position in the procedure
and every report are computed from the events.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field, TypeAdapter

from handsfree.job.closed_lists import Accepted, Confirm, SpeechLevel
from handsfree.job.finding import Finding
from handsfree.job.job import Fact, Sheet
from handsfree.job.reading import Reading, Subject
from handsfree.job.record import Count, Number, Record
from handsfree.journal.controller_events import ControllerBody
from handsfree.journal.event_body import EventBody, Reported
from handsfree.journal.fault_events import FaultBody
from handsfree.journal.motion_events import LeafMeasured
from handsfree.journal.office_events import OfficeBody
from handsfree.journal.paper_events import PaperBody
from handsfree.journal.search_events import SearchBody

FaultKind = Literal[
    "microphone_lost",
    "microphone_back",
    "microphone_silent",
    "sound_overflowed",
    "voice_lost",
    "voice_back",
    "loudspeaker_lost",
    "loudspeaker_back",
    "clip_not_kept",
    "second_ear_lost",
    "clock_jumped",
    "machine_slept",
    "terminated",
]


REHEARSAL = "rehearsal"
"""Prefix of the ears' name in every rehearsal."""


class VisitOpened(EventBody):
    """A visit began: the job as given, and everything the result depends on.

    ``controller`` is the name or file of the controller's menu, ``second_ear`` the name and hash of
    the second recognizer; both are '' if there is none. ``zone`` is the local time zone as its
    offset from UTC and its name ('-05:00 EST'), '' if unknown.
    """

    kind: Literal["visit_opened"] = "visit_opened"
    sheet: Sheet
    procedure: str
    procedure_sha256: str
    limits: str
    limits_sha256: str
    model: str
    version: str
    ears: str
    mouth: str
    controller: str = ""
    second_ear: str = ""
    zone: str = ""


class VisitResumed(Reported):
    """The visit continued after a break."""

    kind: Literal["visit_resumed"] = "visit_resumed"
    version: str
    ears: str
    mouth: str
    second_ear: str = ""


class TailRecovered(Reported):
    """An unfinished last line was moved to the file ``kept_as``; ``bytes`` is its size."""

    kind: Literal["tail_recovered"] = "tail_recovered"
    kept_as: str
    bytes: Count


class Said(Reported):
    """The tool spoke, or only printed (``aloud`` false).

    ``role``: prompt, readback, answer, warning, caution, finding, advice, repair or status.
    """

    kind: Literal["said"] = "said"
    text: str
    role: str
    aloud: bool
    seconds: Number


class Heard(Reported):
    """An utterance and its meaning, which is None if it was not understood.

    ``start_s`` and ``end_s`` are on the audio clock of this sound source. ``clip`` is the file
    below clips/, ``clip_sha256`` its hash; both are None for typed input or if clips are not
    stored. ``may_be`` lists other readings or codes with a similar sound, if they changed the
    tool's question. ``retried`` is true if only a second recognition pass over the expected answers
    found the words.
    """

    kind: Literal["heard"] = "heard"
    text: str
    meaning: dict[str, Any] | None
    start_s: Number | None = None
    end_s: Number | None = None
    clip: str | None = None
    clip_sha256: str | None = None
    may_be: tuple[str, ...] = ()
    retried: bool = False


class SecondHeard(Reported):
    """The second ear's result for the utterance of event ``heard``, whose value was read back.

    ``text`` is the raw text, ``words`` the same in the grammar's spelling. ``outcome`` says whether
    both agreed or differed; 'unclear' means that the result has no comparable value. ``late`` is
    true if the next utterance came first.
    """

    kind: Literal["second_heard"] = "second_heard"
    heard: int
    text: str
    words: str
    outcome: Literal["agreed", "differed", "unclear"]
    late: bool = False


class TypedUp(Reported):
    """A note or a reason (the utterance of event ``heard``) as transcribed by the second ear.

    Nobody has checked it; the sound is what counts.
    """

    kind: Literal["typed_up"] = "typed_up"
    heard: int
    text: str


class StepEntered(EventBody):
    """The visit reached a step; ``key`` is the step's id and subject.

    ``proves`` is the key of a repaired item that the step asks about again.
    """

    kind: Literal["step_entered"] = "step_entered"
    key: str
    proves: str | None = None


class LedOn(Record):
    """An answer led to a target other than the next step.

    ``to`` is a branch, the id of a step, or 'hold'; ``branch`` is True for a branch. ``again``
    holds the keys of steps to be repeated, ``passed`` those of steps passed over, and ``left`` the
    branches left on the way.
    """

    answer: str
    to: str
    branch: bool = False
    again: tuple[str, ...] = ()
    passed: tuple[str, ...] = ()
    left: tuple[str, ...] = ()


class StepEnded(EventBody):
    """A step ended, and where its answer led, if not to the next step.

    ``outcome``: done, skipped, failed after the last attempt, or left out because of a decision or
    of a step that it needs. ``reopened`` holds the keys of steps to be repeated because they depend
    on its new answer.
    """

    kind: Literal["step_ended"] = "step_ended"
    key: str
    outcome: Literal["done", "skipped", "failed", "left_out"]
    reason: str | None = None
    reason_clip: str | None = None
    led: LedOn | None = None
    reopened: tuple[str, ...] = ()


class GroupOpened(EventBody):
    """From here on the steps of a group are asked one by one, because not all of them are good."""

    kind: Literal["group_opened"] = "group_opened"
    group: str


class CautionGiven(Reported):
    """A caution was spoken; the step waits for its acknowledgment."""

    kind: Literal["caution_given"] = "caution_given"
    key: str
    text: str
    word: str


class CautionAcknowledged(EventBody):
    """The caution was acknowledged with its word."""

    kind: Literal["caution_acknowledged"] = "caution_acknowledged"
    key: str
    word: str


class ReadingAccepted(EventBody):
    """A reading was accepted. ``how``: affirmed, or said back and not taken back."""

    kind: Literal["reading_accepted"] = "reading_accepted"
    reading: Reading
    how: Accepted = "explicit"


class ReadingWithdrawn(EventBody):
    """An accepted reading was taken back; it stays in the journal."""

    kind: Literal["reading_withdrawn"] = "reading_withdrawn"
    reading_id: str


class FactAccepted(EventBody):
    """A choice or observation was accepted. ``how``: affirmed, or said back and not taken back."""

    kind: Literal["fact_accepted"] = "fact_accepted"
    fact: Fact
    how: Accepted = "explicit"


class FactWithdrawn(EventBody):
    """An accepted choice or observation was taken back; it stays in the journal."""

    kind: Literal["fact_withdrawn"] = "fact_withdrawn"
    subject: Subject
    name: str


class FactsChallenged(Reported):
    """Contradictory facts were given; the tool said so aloud."""

    kind: Literal["facts_challenged"] = "facts_challenged"
    why: str


class Judged(Reported):
    """Findings on the reading just accepted, by the limits in use."""

    kind: Literal["judged"] = "judged"
    findings: tuple[Finding, ...]


class NoteKept(EventBody):
    """A note: the recorded sound and the recognized text."""

    kind: Literal["note_kept"] = "note_kept"
    step_key: str | None
    text: str
    clip: str | None


class StoodBy(EventBody):
    """The tool began to listen only for 'carry on'. ``stop`` is true if the word was 'stop'."""

    kind: Literal["stood_by"] = "stood_by"
    stop: bool


class CarriedOn(EventBody):
    """The visit continued after standing by."""

    kind: Literal["carried_on"] = "carried_on"


class TimedMark(Record):
    """A mark of a timed cycle: samples (16 kHz) from the start of its clip, levels in dB.

    ``uncertainty_s`` is its standard uncertainty. ``spoken`` is true if speech began there; None if
    no recognizer checked.
    """

    sample: Count
    end_sample: Count
    snr_db: Number
    level_db: Number
    uncertainty_s: Number
    clipped: bool = False
    spoken: bool | None = None


class MarkWord(Record):
    """A word recognized during a timed cycle, and its start in the clip.

    ``leaf`` is the leaf named with it if both are timed in one cycle.
    """

    word: Literal["go", "check", "open", "closing", "ten", "shut"]
    start_s: Number
    leaf: Subject | None = None


class CycleTimed(Reported):
    """A timed cycle: its sound, its marks, and the words at them.

    ``leaf`` is both leaves if they were timed in one cycle. ``start_s`` and ``end_s`` are on the
    audio clock of the sound source. ``cancelled`` is true if the technician canceled it.
    """

    kind: Literal["cycle_timed"] = "cycle_timed"
    leaf: Subject
    marks: tuple[TimedMark, ...]
    words: tuple[MarkWord, ...] = ()
    cancelled: bool = False
    start_s: Number | None = None
    end_s: Number | None = None
    clip: str | None = None
    clip_sha256: str | None = None


class SpeechSet(EventBody):
    """The verbosity changed: full prompts, brief prompts, or tones only."""

    kind: Literal["speech_set"] = "speech_set"
    level: SpeechLevel


class ConfirmSet(EventBody):
    """From here on these answers need 'affirm': the doubtful ones, or every value.

    ``why``: the visit's setting, noise, a value taken back, utterances not understood, or a series
    of utterances heard well.
    """

    kind: Literal["confirm_set"] = "confirm_set"
    confirm: Confirm
    why: Literal["setting", "noise", "taken_back", "not_understood", "heard_well"]


class OpenSettled(EventBody):
    """The decision on an item that is open before hand-over, or when the visit closes.

    ``by`` is the name of the person who accepted it, as spoken; ``by_clip`` is its sound.
    """

    kind: Literal["open_settled"] = "open_settled"
    key: str
    word: Literal["done_later", "not_applicable", "refused", "tagged_out", "accepted"]
    by: str | None = None
    by_clip: str | None = None


class Fault(Reported):
    """A fault of the sound, the voice or the machine, or its end.

    ``detail`` is one plain sentence, ``lost_s`` the duration of lost sound (s).
    """

    kind: Literal["fault"] = "fault"
    what: FaultKind
    detail: str = ""
    lost_s: Number | None = None


class VisitClosed(EventBody):
    """The visit closed: every step has ended, and every open item has a decision."""

    kind: Literal["visit_closed"] = "visit_closed"


Body = Annotated[
    VisitOpened
    | VisitResumed
    | TailRecovered
    | Said
    | Heard
    | SecondHeard
    | TypedUp
    | StepEntered
    | StepEnded
    | CautionGiven
    | CautionAcknowledged
    | ReadingAccepted
    | ReadingWithdrawn
    | FactAccepted
    | FactWithdrawn
    | FactsChallenged
    | Judged
    | NoteKept
    | StoodBy
    | CarriedOn
    | CycleTimed
    | LeafMeasured
    | SpeechSet
    | ConfirmSet
    | GroupOpened
    | OpenSettled
    | Fault
    | VisitClosed
    | FaultBody
    | SearchBody
    | ControllerBody
    | PaperBody
    | OfficeBody,
    Field(discriminator="kind"),
]
BODY: TypeAdapter[Body] = TypeAdapter(Body)


class Event(Record):
    """One line of the journal.

    ``seq`` counts from 1; ``at`` is UTC with milliseconds ('2026-03-04T09:15:02.120Z'); ``prev`` is
    the SHA-256 (hex) of the previous line's bytes without its newline, 64 zeros for the first line.
    """

    seq: Count
    at: str
    body: Body
    prev: str
