"""The conversation's state, what comes into it and what goes out, as frozen records."""

from __future__ import annotations

from typing import Literal

from pydantic import SerializeAsAny

from handsfree.checks.limits import LimitSet
from handsfree.dialogue.progress import Progress
from handsfree.dialogue.proposed_reading import Rival
from handsfree.dialogue.questions.question import Question
from handsfree.job.job import Job
from handsfree.job.reading import Subject, Taken
from handsfree.job.record import Record
from handsfree.job.unit import Measure
from handsfree.journal.events import Body
from handsfree.language.meaning import Meaning, ReadingSaid
from handsfree.language.wording import Wording, wording
from handsfree.procedure.step import Procedure, Task
from handsfree.procedure.task_selection import tasks
from handsfree.timing.cycle import Label
from handsfree.timing.mark import Mark


class _LastTasks:
    """Keeps the tasks that were asked for last: a turn asks for the same ones many times."""

    def __init__(self) -> None:
        self._known: tuple[Procedure, Job, tuple[Task, ...]] | None = None

    def of(self, procedure: Procedure, job: Job) -> tuple[Task, ...]:
        """The tasks, worked out anew when the opening or a fact has changed."""
        if self._known is not None:
            for_procedure, for_job, found = self._known
            same_door = job is for_job or (
                job.opening == for_job.opening and job.facts == for_job.facts
            )
            if procedure is for_procedure and same_door:
                self._known = (procedure, job, found)
                return found
        found = tasks(procedure, job)
        self._known = (procedure, job, found)
        return found


_TASKS = _LastTasks()


class Circle(Record):
    """The question at hand as it comes back: what was heard in each round of it.

    ``asked`` are the words that what waits was made of, ``unfit`` counts the values among
    the rounds, refused or out of place, ``told`` is whether the rounds were told. ``missed``
    tells of the last few utterances, since another way was offered, whether each was not
    understood.
    """

    rounds: tuple[str, ...] = ()
    asked: str | None = None
    unfit: int = 0
    told: bool = False
    missed: tuple[bool, ...] = ()


class State(Record):
    """Everything the conversation knows.

    ``misses`` counts utterances in a row that were not understood, ``in_noise`` tells of the
    last few whether each was missed with a voice that hardly stood over the noise; ``circle`` is
    what was understood since something came of it; ``doubted`` is a value outside the plausible
    range that was just asked again; ``quiet_since_s`` is the time of the last word on the
    caller's clock; ``reminded`` whether the silence since then was broken once; ``advice``
    waits for a pause; ``times_by_ear`` is whether there is a stream of sound to find marks in.
    """

    procedure: Procedure
    limits: LimitSet
    progress: Progress
    pending: SerializeAsAny[Question] | None = None
    misses: int = 0
    in_noise: tuple[bool, ...] = ()
    circle: Circle = Circle()
    doubted: Measure | None = None
    quiet_since_s: float = 0.0
    reminded: bool = False
    advice: tuple[str, ...] = ()
    times_by_ear: bool = False

    @property
    def words(self) -> Wording:
        """The words of the visit's language."""
        return wording(self.progress.job.sheet.language)

    @property
    def tasks(self) -> tuple[Task, ...]:
        """The tasks of this job as it is known now."""
        return _TASKS.of(self.procedure, self.progress.job)

    @property
    def task(self) -> Task | None:
        """The task that the visit stands at, or None before and after all tasks."""
        return next((task for task in self.tasks if task.key == self.progress.at), None)


# --- what comes in


class Heard(Record):
    """An utterance with its meaning (None when it is no sentence of the grammar).

    ``rival`` is a value that sounds much like it, ``may_be`` what else a reading may have been
    by its sound, the likeliest first. ``snr_db`` is the level of the voice over the noise
    before it, when there is sound.
    """

    text: str
    meaning: Meaning | None
    clip: str | None = None
    taken: Taken = Taken.SAID
    snr_db: float | None = None
    rival: Rival | None = None
    may_be: tuple[ReadingSaid, ...] = ()


class Silence(Record):
    """Nothing was said up to now."""


class CycleHeard(Record):
    """What was heard while the clock ran: marks and the words at them, on one stream.

    ``clip`` is the sound of the run. ``cancelled`` when it was called off.
    """

    marks: tuple[Mark, ...]
    labels: tuple[Label, ...] = ()
    clip: str | None = None
    cancelled: bool = False


class SecondHeard(Record):
    """What the second ear heard in the utterance whose value was read back last.

    ``late`` when the next utterance was there before it: then nothing is said at once.
    """

    meaning: Meaning | None
    late: bool = False


Input = Heard | Silence | CycleHeard | SecondHeard

# --- what goes out, in the order in which it is to be done

Role = Literal[
    "prompt",
    "readback",
    "answer",
    "warning",
    "caution",
    "finding",
    "advice",
    "repair",
    "status",
]


class Say(Record):
    """Words to speak. ``role`` tells what they are for; ``aloud`` whether with a voice."""

    text: str
    role: Role
    aloud: bool = True


Sound = Literal["heard", "understood", "accepted", "warning"]


class Tone(Record):
    """A short sound: heard and not understood, understood, kept, or a warning to come."""

    sound: Sound


class Voice(Record):
    """The voice is to change by one step."""

    change: Literal["slower", "faster", "louder", "softer"]


class Keep(Record):
    """An event to append to the journal before anything after it is spoken."""

    body: Body


class TimeCycle(Record):
    """Listen for the marks of one cycle, as soon as everything before this was spoken.

    Both leaves: one cycle of the two, each mark with its leaf's name.
    """

    leaf: Subject


Reply = Say | Tone | Voice | Keep | TimeCycle
