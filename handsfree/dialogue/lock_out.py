"""Lock-out: a step of it that comes up late interrupts the work on the wires."""

from __future__ import annotations

from handsfree.dialogue import sentences
from handsfree.dialogue.turn import Turn
from handsfree.journal import events as ev
from handsfree.procedure.step import Task

_POWER_OFF, _POWER_ON = "power-off", "power-on"
"""The stages between which work is done under lock-out."""


def late(turn: Turn, following: Task | None) -> Task | None:
    """The first open step of the lock-out before another task, while the power is locked out.

    None where the lock-out was not begun, and after the power is on again.
    """
    if not _begun(turn) or _power_on(turn) is not None:
        return None
    tasks = turn.state.tasks
    before = tasks[: tasks.index(following)] if following in tasks else ()
    return next((task for task in before if _is_missing(turn, task)), None)


def leave_out(turn: Turn) -> None:
    """Leaves out, and says, what a lock-out still lacked when the power came on again."""
    power_on = _power_on(turn)
    if power_on is None or not _begun(turn):
        return
    why = sentences.task_name(turn.words, power_on)
    for task in turn.state.tasks:
        if _is_missing(turn, task):
            name = sentences.task_name(turn.words, task)
            turn.tell("lock_out_over", "warning", step=name)
            turn.keep(ev.StepEnded(key=task.key, outcome="left_out", reason=why))


def proofs_again(turn: Turn, task: Task) -> tuple[str, ...]:
    """The key of the step that proved the power off, and has to again after a late step."""
    if not _is_lock_out(task) or task.step.own_word == "proved_dead":
        return ()
    ended = turn.state.progress.ended
    proofs = [each for each in turn.state.tasks if each.step.own_word == "proved_dead"]
    return tuple(each.key for each in proofs if each.key in ended)[-1:]


def _is_lock_out(task: Task) -> bool:
    return task.step.stage == _POWER_OFF and not task.step.may_skip


def _is_missing(turn: Turn, task: Task) -> bool:
    return _is_lock_out(task) and task.key not in turn.state.progress.ended


def _begun(turn: Turn) -> bool:
    """True if a lock is on the breaker."""
    ended = turn.state.progress.ended
    return any(
        task.step.own_word == "locked_out" and ended.get(task.key) == "done"
        for task in turn.state.tasks
    )


def _power_on(turn: Turn) -> Task | None:
    """The finished step that switched the power on again; None while it is proved off."""
    last_of_stage = [task.key for task in turn.state.tasks if task.step.stage == _POWER_ON][-1:]
    switched = [
        task
        for task in turn.state.tasks
        if task.key in turn.state.progress.ended
        and (
            task.step.danger == "power_on"
            or task.key in last_of_stage
            or task.step.own_word == "proved_dead"
        )
    ]
    return switched[-1] if switched and switched[-1].step.own_word is None else None
