"""Items of the timeline of a visit: one record for each kind."""

from __future__ import annotations

from decimal import Decimal

from handsfree.job.record import Record
from handsfree.journal.events import FaultKind
from handsfree.visit_record.amendment import Amendment
from handsfree.visit_record.kept_words import KeptAs


class Utterance(Record):
    """An utterance heard in the visit.

    ``taken_for`` is its meaning in plain words, '' if it was not understood. ``kept_as`` says how
    words outside the grammar were kept. ``came_of`` describes the events of the same turn in plain
    words; ``step`` is the key of the step at that time. ``start_s`` and ``seconds`` are None for
    typed input. ``ignored`` is true if it was said while the tool stood by.
    """

    seq: int
    at: str
    heard: str
    taken_for: str
    understood: bool
    kept_as: KeptAs | None = None
    ignored: bool = False
    step: str | None = None
    clip: str | None = None
    start_s: Decimal | None = None
    seconds: Decimal | None = None
    came_of: tuple[str, ...] = ()
    amendments: tuple[Amendment, ...] = ()


class Spoken(Record):
    """Something that the tool said; ``aloud`` is false if it was only written."""

    seq: int
    at: str
    text: str
    role: str
    aloud: bool


class Note(Record):
    """A note; ``text`` as heard, ``now`` in the office's words after amendments.

    ``typed_up`` is the second ear's unchecked transcript.
    """

    seq: int
    at: str
    step: str | None
    text: str
    now: str
    clip: str | None
    typed_up: str = ""
    amendments: tuple[Amendment, ...] = ()


class Caution(Record):
    """A spoken caution, and the time when it was acknowledged, or None."""

    seq: int
    at: str
    key: str
    text: str
    word: str
    answered_seq: int | None = None
    answered_at: str | None = None
    clip: str | None = None


class RecordedFault(Record):
    """A fault of the sound, the voice or the machine, or its end."""

    seq: int
    at: str
    what: FaultKind
    detail: str
    lost_s: Decimal | None


class Occurrence(Record):
    """Anything else on the time line, in plain words: a step, a break, 'stand by'.

    ``kind`` is the kind of its event.
    """

    seq: int
    at: str
    kind: str
    what: str
