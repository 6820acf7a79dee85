"""Observations of one utterance with a refusal among them: filed after 'affirm', or asked one by
one.
"""

from __future__ import annotations

from handsfree.dialogue import navigation
from handsfree.dialogue.fact_filing import task_of
from handsfree.dialogue.questions.note import ask_for_note
from handsfree.dialogue.turn import Turn
from handsfree.job.job import Fact
from handsfree.journal import events as ev


def file(turn: Turn, facts: tuple[Fact, ...]) -> None:
    """Files facts, in the order of their steps, and asks what is wrong with the first refusal.

    The step of a refusal ends with a note about it. If an earlier step has no answer yet, that one
    comes first; the refusal is filed, and its step is asked separately later.
    """
    turn.wait_for(None)
    job_before = turn.job
    for fact in facts:
        turn.keep(ev.FactAccepted(fact=fact))
    turn.warn_of(turn.judge_since(job_before))
    for fact in facts:
        task = task_of(turn, fact.subject, fact.name)
        if task is not None and fact.value == "in_order":
            turn.keep(ev.StepEnded(key=task.key, outcome="done"))
    bad = next(fact for fact in facts if fact.value == "not_in_order")
    first = task_of(turn, bad.subject, bad.name)
    if first is None or _is_open_before(turn, first.key):
        navigation.prompt_again(turn)
        return
    if turn.task is None or turn.task.key != first.key:
        turn.keep(ev.StepEntered(key=first.key))
    ask_for_note(turn, defect=True)


def ask_one_by_one(turn: Turn) -> None:
    """Drops a refusal that was not affirmed; from then on 'all good' does not answer its step."""
    turn.wait_for(None)
    turn.tell("dropped", "status")
    group = turn.task.step.group if turn.task is not None else None
    if group is not None and group not in turn.state.progress.opened:
        turn.keep(ev.GroupOpened(group=group))
        turn.tell("group_opened", "status")
    navigation.prompt_again(turn)


def _is_open_before(turn: Turn, key: str) -> bool:
    """True if a step between the current one and another has no answer yet."""
    keys = [task.key for task in turn.state.tasks]
    at = turn.state.progress.at
    start = keys.index(at) if at in keys else 0
    between = keys[start : keys.index(key)]
    return keys.index(key) < start or any(each not in turn.state.progress.ended for each in between)
