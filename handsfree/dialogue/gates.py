"""Gates and holds: what has to be OK, or decided, before the visit reaches a step.

Both depend on the state alone, so a resumed visit finds the same gate.
"""

from __future__ import annotations

from typing import Literal, NamedTuple

from handsfree.dialogue.decisions import HAND_OVER, undecided
from handsfree.dialogue.open_faults import named_against
from handsfree.dialogue.open_items import OpenItem
from handsfree.dialogue.turn import Turn
from handsfree.procedure.step import Task

MOST_PROOFS = 3
"""Largest number of failed repairs of one thing; after that it needs another decision."""


class Gate(NamedTuple):
    """A closed gate before a task.

    ``ask`` is the task that has to be answered first, ``item`` the item that has to be decided
    first; with neither, the task is left out because of ``because``.
    """

    because: Task
    ask: Task | None = None
    item: OpenItem | None = None


def closed(turn: Turn, task: Task) -> Gate | None:
    """The gate before a task, or None if it is open: everything that the step needs is OK."""
    ended = turn.state.progress.ended
    for needed in task.step.needs:
        for check in turn.state.tasks:
            if check.step.id != needed:
                continue
            if ended.get(check.key) not in ("done", "failed", "skipped", "left_out"):
                return Gate(check, ask=check)
            if _is_ok(turn, check):
                continue
            return Gate(check, item=_open_item(turn, check))
    return None


def held(turn: Turn) -> OpenItem | None:
    """The open item at a hold that still needs a decision; None if nothing is held."""
    tasks = {task.key: task for task in turn.state.tasks}
    for key in turn.state.progress.held:
        item = _open_item(turn, tasks[key]) if key in tasks else None
        if item is not None:
            return item
    return None


def put_right_too_often(turn: Turn, item: OpenItem) -> bool:
    """True if repairs of an item failed so often that it needs another decision."""
    return turn.state.progress.proofs.get(item.key, 0) >= MOST_PROOFS


def place_of(task: Task) -> Literal["hand-over", "learn_cycle", "settings_lock", "people", "step"]:
    """The danger guarded by the gate before a task, or 'hand-over', or 'step'."""
    if task.step.stage == HAND_OVER or task.step.danger == "hand_over":
        return "hand-over"
    danger = task.step.danger
    return "step" if danger is None or danger == "power_on" else danger


def _is_ok(turn: Turn, check: Task) -> bool:
    if turn.state.progress.ended.get(check.key) != "done":
        return False
    if named_against(turn, check):
        return False
    observed = check.step.waits == "observation"
    return not observed or turn.job.fact(check.subject, check.step.fact or "") == "in_order"


def _open_item(turn: Turn, check: Task) -> OpenItem | None:
    """The open item left by a task; None if it left none or it was decided on."""
    fact, quantity = f"{check.subject}/{check.step.fact}", check.step.quantity
    keys = {fact, *(life.key for life in named_against(turn, check))}
    for item in undecided(turn):
        about = item.key.partition("/")[0]
        if item.key in keys or (about == check.subject and item.quantity is quantity is not None):
            return item
    return None
