"""The conversation's state, its inputs and its replies, as frozen records."""

from __future__ import annotations

from typing import Literal

from pydantic import SerializeAsAny

from handsfree.checks.limits import LimitSet
from handsfree.dialogue.proposed_reading import Rival
from handsfree.dialogue.questions.question import Question
from handsfree.job.job import Job
from handsfree.job.reading import Subject, Taken
from handsfree.job.record import Number, Record
from handsfree.job.unit import Measure
from handsfree.journal.events import Body
from handsfree.journal.motion_events import LeafMeasured
from handsfree.language.meaning import CodeSaid, Meaning, ReadingSaid
from handsfree.language.wording import Wording, wording
from handsfree.procedure.step import Procedure, Task
from handsfree.procedure.task_selection import tasks
from handsfree.timing.cycle import Label
from handsfree.timing.mark import Mark
from handsfree.visit_record.progress import Progress


class _LastTasks:
    """Cache of the last list of tasks, which one turn needs many times."""

    def __init__(self) -> None:
        self._known: tuple[Procedure, Job, dict[str, str], tuple[Task, ...]] | None = None

    def of(self, procedure: Procedure, job: Job, branches: dict[str, str]) -> tuple[Task, ...]:
        """The tasks, recomputed when the opening, a fact, a fault or a branch has changed."""
        if self._known is not None:
            for_procedure, for_job, for_branches, found = self._known
            same_door = job is for_job or (
                job.opening == for_job.opening
                and job.facts == for_job.facts
                and job.open_faults == for_job.open_faults
            )
            if procedure is for_procedure and same_door and branches == for_branches:
                self._known = (procedure, job, branches, found)
                return found
        found = tasks(procedure, job, branches)
        self._known = (procedure, job, branches, found)
        return found


_TASKS = _LastTasks()


class Loop(Record):
    """The utterances heard at one place of the visit since an answer last moved it on.

    ``rounds`` holds the utterances after which the same question came back. ``proposal`` is the
    utterance behind the pending question. ``misfits`` counts the rounds with a refused or misplaced
    value. ``reported`` is True once the loop was reported to the technician. ``misses`` covers the
    last few utterances since another way to answer was offered: True for each that was not
    understood.
    """

    rounds: tuple[str, ...] = ()
    proposal: str | None = None
    misfits: int = 0
    reported: bool = False
    misses: tuple[bool, ...] = ()


class EchoedAnswer(Record):
    """An answer that was said back with the next prompt and counts once that prompt is answered.

    ``question`` would have asked for 'affirm'. ``bodies`` holds the events that make it count; none
    of them is in the journal yet. ``before`` and ``advice`` are the progress and the pending advice
    without it.
    """

    question: SerializeAsAny[Question]
    bodies: tuple[Body, ...]
    before: Progress
    advice: tuple[str, ...] = ()


class State(Record):
    """Everything the conversation knows.

    ``pending`` is the question that waits for an answer. ``misses`` counts consecutive utterances
    that were not understood; ``in_noise`` covers the last few utterances, True for each that was
    not understood and hardly louder than the noise. ``doubted`` is an unusual value that was just
    questioned. ``quiet_since_s`` is the time of the last word on the caller's clock (s), and
    ``reminded`` is True if a reminder was spoken since. ``advice`` is spoken at the next pause.
    ``times_by_ear`` is True if there is a stream of sound in which the clock can find marks.

    ``echo`` is the answer that was said back with the last prompt: it is in ``progress`` already,
    but not in the journal. ``recent`` is the answer before it, which counts but may still be taken
    back. ``hearing`` covers the last utterances, True for each that was heard badly or took a value
    back.
    """

    procedure: Procedure
    limits: LimitSet
    progress: Progress
    pending: SerializeAsAny[Question] | None = None
    misses: int = 0
    in_noise: tuple[bool, ...] = ()
    loop: Loop = Loop()
    doubted: Measure | None = None
    quiet_since_s: float = 0.0
    reminded: bool = False
    advice: tuple[str, ...] = ()
    times_by_ear: bool = False
    echo: EchoedAnswer | None = None
    recent: EchoedAnswer | None = None
    hearing: tuple[bool, ...] = ()

    @property
    def words(self) -> Wording:
        """The wording of the visit's language."""
        return wording(self.progress.job.sheet.language)

    @property
    def tasks(self) -> tuple[Task, ...]:
        """The tasks of the job as known now."""
        return _TASKS.of(self.procedure, self.progress.job, self.progress.branches)

    @property
    def task(self) -> Task | None:
        """The current task, or None before the first and after the last."""
        return next((task for task in self.tasks if task.key == self.progress.at), None)


# --- inputs


class Heard(Record):
    """An utterance with its meaning (None if it is not a sentence of the grammar).

    ``rival`` is a value that sounds much like it; ``rivals`` has one for each of several readings.
    ``may_be`` lists other readings that the sound may have been, the likeliest first.
    ``other_code`` is another code that is about as likely. ``snr_db`` is the level of the voice
    over the preceding noise (dB), None without sound. ``retried`` is true if only a second
    recognition pass over the expected answers found the words.
    """

    text: str
    meaning: Meaning | None
    clip: str | None = None
    taken: Taken = Taken.SAID
    snr_db: float | None = None
    rival: Rival | None = None
    rivals: tuple[Rival | None, ...] = ()
    may_be: tuple[ReadingSaid, ...] = ()
    other_code: CodeSaid | None = None
    retried: bool = False


class Silence(Record):
    """No utterance since the last input."""


class CycleHeard(Record):
    """The marks heard during a timed run, and the words at them.

    ``clip`` is the sound of the run. ``cancelled`` is True if the technician canceled it.
    """

    marks: tuple[Mark, ...]
    labels: tuple[Label, ...] = ()
    clip: str | None = None
    cancelled: bool = False


class SecondHeard(Record):
    """The second recognizer's version of the utterance whose value was read back last.

    ``late`` is True if the next utterance came first: a question that follows is then asked after
    the reply to that utterance.
    """

    meaning: Meaning | None
    late: bool = False


Input = Heard | Silence | CycleHeard | SecondHeard | LeafMeasured

# --- replies, in the order in which they are carried out

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
    """Words to speak. ``role`` is their purpose; ``aloud`` is true if the voice speaks them."""

    text: str
    role: Role
    aloud: bool = True


Sound = Literal["heard", "understood", "accepted", "warning"]


class Tone(Record):
    """A short sound: heard but not understood, understood, accepted, or a warning follows."""

    sound: Sound


class Voice(Record):
    """A change of the voice by one step."""

    change: Literal["slower", "faster", "louder", "softer"]


class Keep(Record):
    """An event to append to the journal before anything after it is spoken.

    ``earlier`` puts it before the utterance of the turn, because an earlier utterance caused it.
    """

    body: Body
    earlier: bool = False


class TimeCycle(Record):
    """A request to listen for the marks of one cycle after all earlier replies were spoken.

    BOTH_LEAVES stands for one cycle of both, with the leaf named at every mark.
    """

    leaf: Subject


class MeasureLeaf(Record):
    """A request to read the newest log of rotation rates in the visit's folder for this leaf.

    ``open_angle_deg`` is the fully open angle measured with a square (degrees), if it was said.
    """

    leaf: Subject
    open_angle_deg: Number | None = None


Reply = Say | Tone | Voice | Keep | TimeCycle | MeasureLeaf
