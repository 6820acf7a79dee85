"""Every kind of event that a visit's journal holds.

The body of an event is a frozen record; ``kind`` names it. The job, the place in the
procedure and every report are folds over these.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field, TypeAdapter

from handsfree.job.closed_lists import SpeechLevel
from handsfree.job.finding import Finding
from handsfree.job.job import Fact, Sheet
from handsfree.job.reading import Reading, Subject
from handsfree.job.record import Count, Number, Record
from handsfree.journal.event_body import EventBody, Reported
from handsfree.journal.office_events import OfficeBody

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


class VisitOpened(EventBody):
    """The visit begins: the job as given, and everything the result depends on.

    ``controller`` is the name or file of the controller's menu, ``second_ear`` the name and hash
    of the second recognizer; '' without one.
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


class VisitResumed(Reported):
    """The visit goes on after a break."""

    kind: Literal["visit_resumed"] = "visit_resumed"
    version: str
    ears: str
    mouth: str
    second_ear: str = ""


class TailRecovered(Reported):
    """An unfinished last line was set aside in ``kept_as``; ``bytes`` is its size."""

    kind: Literal["tail_recovered"] = "tail_recovered"
    kept_as: str
    bytes: Count


class Said(Reported):
    """The tool spoke, or printed where no voice was there (``aloud`` false).

    ``role``: prompt, readback, answer, warning, caution, finding, advice, repair or status.
    """

    kind: Literal["said"] = "said"
    text: str
    role: str
    aloud: bool
    seconds: Number


class Heard(Reported):
    """An utterance, with what it was taken for: None when it was not understood.

    ``start_s`` and ``end_s`` are on the audio clock of this sound source. ``clip`` is
    the file below clips/, ``clip_sha256`` its hash; both None for typed input or when
    clips are not kept. ``may_be`` is what else a reading may have been by its sound, where
    that changed what was asked.
    """

    kind: Literal["heard"] = "heard"
    text: str
    meaning: dict[str, Any] | None
    start_s: Number | None = None
    end_s: Number | None = None
    clip: str | None = None
    clip_sha256: str | None = None
    may_be: tuple[str, ...] = ()


class SecondHeard(Reported):
    """What the second ear heard in the utterance of event ``heard``, whose value was read back.

    ``text`` is as it came, ``words`` the same as the grammar spells it. ``outcome``: the two
    agreed, differed, or this one is no value that can be compared.
    """

    kind: Literal["second_heard"] = "second_heard"
    heard: int
    text: str
    words: str
    outcome: Literal["agreed", "differed", "unclear"]


class TypedUp(Reported):
    """A note or a reason (the utterance of event ``heard``) as the second ear typed it up.

    Nobody has checked it; the sound is what counts.
    """

    kind: Literal["typed_up"] = "typed_up"
    heard: int
    text: str


class StepEntered(EventBody):
    """The visit stands at a step now; ``key`` is its id and what it is about."""

    kind: Literal["step_entered"] = "step_entered"
    key: str


class StepEnded(EventBody):
    """A step is over. ``outcome``: done, skipped, or failed after the last attempt."""

    kind: Literal["step_ended"] = "step_ended"
    key: str
    outcome: Literal["done", "skipped", "failed"]
    reason: str | None = None
    reason_clip: str | None = None


class CautionGiven(Reported):
    """A caution was spoken; the step waits for its word."""

    kind: Literal["caution_given"] = "caution_given"
    key: str
    text: str
    word: str


class CautionAcknowledged(EventBody):
    """The caution's own word was said."""

    kind: Literal["caution_acknowledged"] = "caution_acknowledged"
    key: str
    word: str


class ReadingAccepted(EventBody):
    """A reading was read back and affirmed."""

    kind: Literal["reading_accepted"] = "reading_accepted"
    reading: Reading


class ReadingWithdrawn(EventBody):
    """An accepted reading was taken back; it stays in the journal."""

    kind: Literal["reading_withdrawn"] = "reading_withdrawn"
    reading_id: str


class FactAccepted(EventBody):
    """A choice or observation was read back and affirmed."""

    kind: Literal["fact_accepted"] = "fact_accepted"
    fact: Fact


class FactsChallenged(Reported):
    """What was told contradicts itself; the tool said so aloud."""

    kind: Literal["facts_challenged"] = "facts_challenged"
    why: str


class Judged(Reported):
    """Findings of the limits in force on the reading just accepted."""

    kind: Literal["judged"] = "judged"
    findings: tuple[Finding, ...]


class NoteKept(EventBody):
    """A note: the sound of what was said, with what was heard."""

    kind: Literal["note_kept"] = "note_kept"
    step_key: str | None
    text: str
    clip: str | None


class StoodBy(EventBody):
    """The tool listens for 'carry on' only. ``stop`` when the word was 'stop'."""

    kind: Literal["stood_by"] = "stood_by"
    stop: bool


class CarriedOn(EventBody):
    """The visit goes on after standing by."""

    kind: Literal["carried_on"] = "carried_on"


class TimedMark(Record):
    """A mark of a run: samples (16 kHz) from the start of its clip, levels in dB, doubt in s.

    ``spoken`` says whether speech was heard to begin there; None where nothing has listened.
    """

    sample: Count
    end_sample: Count
    snr_db: Number
    level_db: Number
    uncertainty_s: Number
    clipped: bool = False
    spoken: bool | None = None


class MarkWord(Record):
    """A word that was recognized during a run, and where it starts in the clip.

    ``leaf`` is the one that was named with it, where both are timed in one cycle.
    """

    word: Literal["go", "check", "open", "closing", "ten", "shut"]
    start_s: Number
    leaf: Subject | None = None


class CycleTimed(Reported):
    """A run of the clock: the sound of it, its marks, and the words at them.

    ``leaf`` is both leaves where they were timed in one cycle. ``start_s`` and ``end_s`` are on
    the audio clock of the sound source. ``cancelled`` when it was called off.
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
    """How much is spoken from here on: every prompt in full, in brief, or tones only."""

    kind: Literal["speech_set"] = "speech_set"
    level: SpeechLevel


class OpenSettled(EventBody):
    """The word on something that stays open when the visit closes."""

    kind: Literal["open_settled"] = "open_settled"
    key: str
    word: Literal["done_later", "not_applicable", "refused"]


class Fault(Reported):
    """Something went wrong with sound, voice or machine, or is in order again.

    ``detail`` is one plain sentence, ``lost_s`` how much sound was lost, in s.
    """

    kind: Literal["fault"] = "fault"
    what: FaultKind
    detail: str = ""
    lost_s: Number | None = None


class VisitClosed(EventBody):
    """Every step has ended, and everything that stays open has its word."""

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
    | FactsChallenged
    | Judged
    | NoteKept
    | StoodBy
    | CarriedOn
    | CycleTimed
    | SpeechSet
    | OpenSettled
    | Fault
    | VisitClosed
    | OfficeBody,
    Field(discriminator="kind"),
]
BODY: TypeAdapter[Body] = TypeAdapter(Body)


class Event(Record):
    """One line of the journal.

    ``seq`` counts from 1; ``at`` is UTC with milliseconds ('2026-03-04T09:15:02.120Z');
    ``prev`` is the SHA-256 (hex) of the previous line's bytes without its newline,
    64 zeros for the first.
    """

    seq: Count
    at: str
    body: Body
    prev: str
