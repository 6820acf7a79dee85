"""The stopwatch in the conversation: starts it, and finds the readings of a run."""

from __future__ import annotations

from handsfree.dialogue.questions.clock_leaf import ClockLeafQuestion
from handsfree.dialogue.questions.clock_run import ClockRunQuestion
from handsfree.dialogue.turn import Turn
from handsfree.job.job import leaves_of
from handsfree.job.reading import Reading, Subject, Taken


def start(turn: Turn, subject: Subject | None, *, together: bool = False) -> None:
    """Handles 'start the clock, left leaf': says the marks to come and listens for them.

    ``together`` times both leaves in one cycle, with the leaf named at every mark.
    """
    if not turn.state.times_by_ear:
        turn.tell("no_clock", "answer")
        return
    leaves = leaves_of(turn.job)
    if subject is Subject.BOTH_LEAVES and together and len(leaves) > 1:
        timed: tuple[Subject, ...] = (subject,)
    elif subject is Subject.BOTH_LEAVES:
        timed = leaves
    elif subject is not None and subject not in leaves:
        turn.tell("no_such", "repair", subject=turn.words.subject(subject))
        return
    elif subject is not None:
        timed = (subject,)
    elif turn.task is not None and turn.task.subject in leaves:
        timed = (turn.task.subject,)
    elif len(leaves) == 1:
        timed = leaves
    else:
        turn.ask(ClockLeafQuestion())
        return
    turn.ask(ClockRunQuestion(leaves=timed))


def of_run(turn: Turn, number: int) -> tuple[Reading, ...]:
    """The readings of a run by ear: of the leaf timed last, or of both in one cycle."""
    timed = [reading for reading in turn.job.readings if reading.taken is Taken.BY_EAR]
    if not timed:
        return ()
    mine = [r for r in timed if r.subject is timed[-1].subject and r.run == number]
    return tuple(r for r in timed if mine and r.run == number and r.clip == mine[-1].clip)
