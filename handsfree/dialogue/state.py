"""The conversation's state, what comes into it and what goes out, as frozen records."""

from __future__ import annotations

from decimal import Decimal
from typing import Literal

from handsfree.checks.limits import LimitSet
from handsfree.dialogue.progress import Progress
from handsfree.grammar.meaning import Meaning, ReadingSaid
from handsfree.job.job import Fact
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Reading, Subject, Taken
from handsfree.job.record import Record
from handsfree.job.unit import Measure, Unit
from handsfree.journal.events import Body
from handsfree.procedure.choose import tasks
from handsfree.procedure.step import Procedure, Task

# --- what waits for an answer


class PendingReading(Record):
    """A reading that was read back and waits for 'affirm'.

    ``subjects`` has two members when it was said for both leaves. ``task_key`` is the
    task that it answers, or None when it was volunteered.
    """

    kind: Literal["reading"] = "reading"
    quantity: Quantity
    subjects: tuple[Subject, ...]
    value: Decimal
    unit: Unit
    taken: Taken
    clip: str | None

    @property
    def measure(self) -> Measure:
        """Value and unit as one."""
        return Measure(value=self.value, unit=self.unit)


class PendingFact(Record):
    """A choice or observation that was read back and waits for 'affirm'."""

    kind: Literal["fact"] = "fact"
    fact: Fact
    say: str


class PendingWithdrawal(Record):
    """An accepted reading that is about to be taken back."""

    kind: Literal["withdrawal"] = "withdrawal"
    reading: Reading


class AskedSubject(Record):
    """A reading whose leaf was not said and cannot be told from the step."""

    kind: Literal["subject"] = "subject"
    said: ReadingSaid
    clip: str | None


class AskedReason(Record):
    """A step is to be skipped; the next utterance is the reason."""

    kind: Literal["reason"] = "reason"


class AskedNote(Record):
    """The next utterance is kept as a note. ``defect`` when it tells what is wrong."""

    kind: Literal["note"] = "note"
    defect: bool = False


Pending = PendingReading | PendingFact | PendingWithdrawal | AskedSubject | AskedReason | AskedNote


class State(Record):
    """Everything the conversation knows.

    ``misses`` counts utterances in a row that were not understood; ``doubted`` is a
    value outside the plausible range that was just asked again; ``quiet_since_s`` is
    the time of the last word on the caller's clock; ``reminded`` whether the silence
    since then was broken once.
    """

    procedure: Procedure
    limits: LimitSet
    progress: Progress
    pending: Pending | None = None
    misses: int = 0
    doubted: Measure | None = None
    quiet_since_s: float = 0.0
    reminded: bool = False

    @property
    def tasks(self) -> tuple[Task, ...]:
        """The tasks of this job as it is known now."""
        return tasks(self.procedure, self.progress.job)

    @property
    def task(self) -> Task | None:
        """The task that the visit stands at, or None before and after all tasks."""
        return next((task for task in self.tasks if task.key == self.progress.at), None)


# --- what comes in


class Heard(Record):
    """An utterance with its meaning (None when it is no sentence of the grammar).

    ``snr_db`` is the level of the voice over the noise before it, when there is sound.
    """

    text: str
    meaning: Meaning | None
    clip: str | None = None
    taken: Taken = Taken.SAID
    snr_db: float | None = None


class Silence(Record):
    """Nothing was said up to now."""


Input = Heard | Silence

# --- what goes out, in the order in which it is to be done

Role = Literal["prompt", "readback", "answer", "warning", "caution", "finding", "repair", "status"]


class Say(Record):
    """Words to speak. ``role`` tells what they are for."""

    text: str
    role: Role


class Keep(Record):
    """An event to append to the journal before anything after it is spoken."""

    body: Body


Reply = Say | Keep
