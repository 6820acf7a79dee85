"""What waits for an answer in a conversation: readings, facts and questions."""

from __future__ import annotations

from decimal import Decimal
from typing import Literal

from handsfree.dialogue.open_items import OpenItem
from handsfree.job.job import Fact
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Reading, SecondEar, Subject, Taken
from handsfree.job.record import Record
from handsfree.job.unit import Measure, Unit
from handsfree.language.meaning import ReadingSaid


class Rival(Record):
    """Another value that sounds much like the one that was taken: fifty for fifteen.

    ``one`` and ``other`` are the two words that are close in sound, the one taken first; ''
    where it is not one word that tells them apart.
    """

    value: Decimal
    one: str = ""
    other: str = ""


class PendingReading(Record):
    """A reading that was read back and waits for 'affirm'.

    ``subjects`` has two members when it was said for both leaves. ``doubt`` tells what may have
    been heard wrong: the whole value, which was sought among the usual ones, its unit, or the
    value where its ``rival`` is nearly as likely.
    """

    kind: Literal["reading"] = "reading"
    quantity: Quantity
    subjects: tuple[Subject, ...]
    value: Decimal
    unit: Unit
    taken: Taken
    clip: str | None
    rival: Rival | None = None
    marks_s: Decimal | None = None
    doubt: Literal["value", "unit", "rival"] | None = None
    second_ear: SecondEar | None = None

    @property
    def measure(self) -> Measure:
        """Value and unit as one."""
        return Measure(value=self.value, unit=self.unit)


class PendingReadings(Record):
    """Several readings of one breath, or of one run of the clock; one 'affirm' files them all.

    ``leaves`` are those that the clock runs for: the one that was timed, then those to come.
    """

    kind: Literal["readings"] = "readings"
    items: tuple[PendingReading, ...]
    leaves: tuple[Subject, ...] = ()


class PendingClock(Record):
    """The clock runs for the first leaf; the others follow.

    BOTH_LEAVES as the only one: for both in one cycle, every mark with its leaf's name.
    """

    kind: Literal["clock"] = "clock"
    leaves: tuple[Subject, ...]


class ClockLeaf(Record):
    """The clock is to start, and it was not said for which leaf."""

    kind: Literal["clock_leaf"] = "clock_leaf"


class AskedRun(Record):
    """Whether to run the clock once more for the first leaf."""

    kind: Literal["run"] = "run"
    leaves: tuple[Subject, ...]


class AskedOneOfTwo(Record):
    """A refused reading that may have been its rival: which of the two was it?"""

    kind: Literal["one_of_two"] = "one_of_two"
    reading: PendingReading
    rival: Rival


class AskedTwoHeard(Record):
    """Readings of which the two ears heard one differently: which of the two was said?

    ``seconds`` are the readings as the second ear heard them, in the same order, None where it
    heard the same or nothing. The first of them that is not None is the one that is asked about.
    """

    kind: Literal["two_heard"] = "two_heard"
    items: tuple[PendingReading, ...]
    seconds: tuple[PendingReading | None, ...]

    @property
    def nth(self) -> int:
        """The place of the reading that is asked about."""
        return next(nth for nth, second in enumerate(self.seconds) if second is not None)

    @property
    def two(self) -> tuple[PendingReading, PendingReading]:
        """The reading as the first ear heard it, and as the second did."""
        second = self.seconds[self.nth]
        assert second is not None
        return self.items[self.nth], second


class PendingFact(Record):
    """A choice or observation that was read back and waits for 'affirm'.

    Several facts are one answer about both leaves, sides or plates.
    """

    kind: Literal["fact"] = "fact"
    facts: tuple[Fact, ...]
    called: str
    say: str


class PendingWithdrawal(Record):
    """Accepted readings that are about to be taken back: the last one, or those of a run."""

    kind: Literal["withdrawal"] = "withdrawal"
    readings: tuple[Reading, ...]


class AskedSubject(Record):
    """Readings whose leaf was not said and cannot be told from the step."""

    kind: Literal["subject"] = "subject"
    said: tuple[ReadingSaid, ...]
    clip: str | None


class AskedReason(Record):
    """A step is to be skipped; the next utterance is the reason."""

    kind: Literal["reason"] = "reason"


class AskedNote(Record):
    """The next utterance is kept as a note. ``defect`` when it tells what is wrong."""

    kind: Literal["note"] = "note"
    defect: bool = False


class AskedWord(Record):
    """At the close-out: what becomes of something that is still open."""

    kind: Literal["word"] = "word"
    item: OpenItem


Pending = (
    PendingReading
    | PendingReadings
    | PendingClock
    | ClockLeaf
    | AskedRun
    | PendingFact
    | PendingWithdrawal
    | AskedOneOfTwo
    | AskedTwoHeard
    | AskedSubject
    | AskedReason
    | AskedNote
    | AskedWord
)
