"""Answers that change nothing: where am i, what is left, the limit, why, read back, help."""

from __future__ import annotations

from handsfree.checks.limit_of import limit_for
from handsfree.dialogue import wording
from handsfree.dialogue.state import Heard, PendingFact, PendingReading, PendingWithdrawal
from handsfree.dialogue.turn import Turn
from handsfree.grammar.meaning import ReadBack
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Reading, Subject

# Signal over noise that earns readability 5, 4, 3, 2; below the last it is 1. Our own
# choice: speech should stand at least 6 dB over the noise (Moore 1997, seen, secondary).
_READABILITY_DB = (24.0, 18.0, 12.0, 6.0)


def where_am_i(turn: Turn) -> None:
    """The place in the procedure, and the prompt in full."""
    task = turn.task
    if task is None:
        return
    tasks = turn.state.tasks
    title = next(s.title for s in turn.state.procedure.stages if s.id == task.step.stage)
    turn.say(wording.position(tasks.index(task) + 1, len(tasks), title, task.prompt), "answer")


def what_is_left(turn: Turn) -> None:
    """The number of open steps, by stage."""
    open_tasks = [t for t in turn.state.tasks if t.key not in turn.state.progress.ended]
    counts = [
        (stage.title, sum(task.step.stage == stage.id for task in open_tasks))
        for stage in turn.state.procedure.stages
    ]
    turn.say(wording.remaining(counts), "answer")


def what_is_the_limit(turn: Turn) -> None:
    """The limit that the pending reading or the task at hand is held against."""
    pending, task = turn.state.pending, turn.task
    if isinstance(pending, PendingReading):
        quantity, subject = pending.quantity, pending.subjects[0]
    elif task is not None and task.step.quantity is not None:
        quantity, subject = task.step.quantity, task.subject
    else:
        turn.say(wording.NO_LIMIT, "answer")
        return
    limit = limit_for(turn.job, turn.state.limits, quantity, subject)
    turn.say(limit or wording.NO_LIMIT, "answer")


def why(turn: Turn) -> None:
    """What the task at hand is for."""
    if turn.task is not None:
        turn.say(turn.task.step.why, "answer")


def help_(turn: Turn) -> None:
    """What fits here, and the words that always work."""
    turn.say(f"{fitting(turn)} {wording.ALWAYS}", "answer")


def fitting(turn: Turn) -> str:
    """The shortest example of what can be said now."""
    pending, task = turn.state.pending, turn.task
    if isinstance(pending, PendingReading | PendingFact | PendingWithdrawal):
        return wording.AFFIRM_OR_NEGATIVE
    if pending is not None and pending.kind == "subject":
        return wording.WHICH_LEAF
    if task is None:
        return ""
    if turn.caution_open:
        return wording.wants_caution_word(task.step.word or "")
    return wording.waits_for(task.step)


def read_back(turn: Turn, asked: ReadBack) -> None:
    """The job's latest values for a subject, a quantity, or all."""
    seen: dict[tuple[Subject, Quantity], Reading] = {}
    for reading in turn.job.readings:
        about = asked.subject in (None, Subject.BOTH_LEAVES, reading.subject)
        if about and asked.quantity in (None, reading.quantity):
            seen[reading.subject, reading.quantity] = reading
    if not seen:
        turn.say(wording.NOTHING_READ, "answer")
        return
    turn.say(" ".join(wording.read_reading(reading) for reading in seen.values()), "answer")


def how_do_you_read(turn: Turn, heard: Heard) -> None:
    """Readability one to five, from the level of this very utterance over the noise."""
    if heard.snr_db is None:
        turn.say(wording.readability(5, None), "answer")
        return
    grade = 1 + sum(heard.snr_db >= step for step in _READABILITY_DB)
    turn.say(wording.readability(grade, heard.snr_db), "answer")
