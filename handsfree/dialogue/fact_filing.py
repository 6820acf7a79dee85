"""Ends the tasks that filed choices and observations answer."""

from __future__ import annotations

from handsfree.dialogue import navigation
from handsfree.dialogue.turn import Turn
from handsfree.job.job import Fact
from handsfree.job.reading import Subject
from handsfree.journal import events as ev
from handsfree.procedure.step import Task


def end_tasks(turn: Turn, facts: tuple[Fact, ...]) -> None:
    """Ends the tasks answered by facts, and continues the visit."""
    here = turn.task.key if turn.task and not turn.between else None
    answered = [task_of(turn, fact.subject, fact.name) for fact in facts]
    for asked in answered:
        if asked is None or asked.key == here:
            continue
        if turn.state.progress.ended.get(asked.key) not in ("done", "failed"):
            turn.keep(ev.StepEnded(key=asked.key, outcome="done"))
    if here in [asked.key for asked in answered if asked is not None]:
        navigation.end(turn, "done")
    else:
        # The fact may have removed the current task from the visit, or may answer another task.
        navigation.prompt_again(turn)


def task_of(turn: Turn, subject: Subject, name: str) -> Task | None:
    """The task that asks for a fact about a subject."""
    for task in turn.state.tasks:
        if task.subject is subject and task.step.fact == name:
            return task
    return None
