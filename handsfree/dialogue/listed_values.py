"""Chooses the values of a leaf that one question asks for together.

'Width and height of the left leaf?' 'As found, left leaf: opening speed, closing speed?' Each value
is said back and filed as if it was asked for alone. If only the first is said, the others are asked
for one by one.
"""

from __future__ import annotations

from collections.abc import Sequence

from handsfree.dialogue.known_values import known_measure
from handsfree.dialogue.state import State
from handsfree.job.quantity import SETTINGS
from handsfree.procedure.listed_question import LISTED, question
from handsfree.procedure.step import Task


def listed_at(state: State) -> tuple[Task, ...]:
    """The values of a leaf that are asked in one question; () if each is asked alone.

    Each is asked alone while every value needs its 'affirm', once one of them was answered, if some
    of them are known, and if a guide of the controller is used, because its menu has other names.
    """
    task, progress = state.task, state.progress
    if task is None or task.step.group is None or task.step.quantity not in LISTED:
        return ()
    if progress.confirm == "every" or task.step.group in progress.opened:
        return ()
    if task.step.quantity in SETTINGS and state.procedure.controller is not None:
        return ()
    same = (task.step.group, task.subject)
    listed = tuple(
        each
        for each in state.tasks
        if (each.step.group, each.subject) == same and each.step.quantity in LISTED
    )
    if len(listed) < 2 or listed[0] != task:
        return ()
    if any(each.key in progress.ended or known_measure(state, each) for each in listed):
        return ()
    return listed


def prompt(state: State, listed: Sequence[Task], *, brief: bool) -> str:
    """The question for several values of a leaf."""
    steps = [task.step for task in listed]
    return question(state.words, state.procedure, steps, listed[0].subject, brief=brief)
