"""Outcomes of a task: where its answer leads (the next step, a branch, a named step, a hold)."""

from __future__ import annotations

from handsfree.dialogue.turn import Turn
from handsfree.journal.events import LedOn
from handsfree.procedure.condition import required_fact
from handsfree.procedure.step import FAILS, HOLD, NOT_OK, OK, PASSES, SKIPPED, Procedure, Task
from handsfree.procedure.task_selection import branch_tasks

_OBSERVED = {"in_order": OK, "not_in_order": NOT_OK}


def answer_of(turn: Turn, task: Task, outcome: str) -> str:
    """The name in ``on`` of the answer that ended a task."""
    if outcome == "skipped":
        return SKIPPED
    step = task.step
    value = turn.job.fact(task.subject, step.fact) if step.fact is not None else None
    match step.waits:
        case "observation":
            return _OBSERVED.get(value or "", SKIPPED)
        case "choice":
            return value or SKIPPED
        case "reading":
            return FAILS if outcome == "failed" else PASSES
        case "caution":
            return "clear"
        case "done":
            return "done"


def leads(turn: Turn, task: Task, answer: str) -> LedOn | None:
    """The target of an answer to a task, or None for the next step."""
    step = task.step
    target = step.on.get(answer)
    if target is None:
        return None
    if step.at_most is not None and turn.state.progress.led.get(task.key, 0) >= step.at_most:
        target = step.then or target
    if target == HOLD:
        return LedOn(answer=answer, to=HOLD)
    procedure = turn.state.procedure
    if any(each.branch == target for each in procedure.steps):
        walked = branch_tasks(procedure, turn.job, target, task)
        again = tuple(each.key for each in walked)
        left = _branches_behind(turn, again)
        return LedOn(answer=answer, to=target, branch=True, again=again, left=left)
    return _to_step(turn, task, answer, target)


def next_after(turn: Turn, task: Task, led: LedOn | None) -> Task | None:
    """The task in a branch or at a named step to which an answer led, if it exists."""
    tasks = turn.state.tasks
    if led is None or led.to == HOLD:
        return None
    if led.branch:
        keys = led.again
        return next((each for each in tasks if each.key in keys), None)
    return _target(turn.state.procedure, tasks, task, led.to)


def dependents(turn: Turn, task: Task) -> tuple[str, ...]:
    """The keys of finished tasks whose conditions depend on the answer of a task that is asked
    again.
    """
    ids = {
        step.id
        for step in turn.state.procedure.steps
        for condition in step.applies
        if task.step.fact and (required_fact(condition) or ("",))[0] == task.step.fact
    }
    return tuple(key for key in turn.state.progress.ended if key.partition(":")[0] in ids)


def _to_step(turn: Turn, task: Task, answer: str, target: str) -> LedOn | None:
    tasks = turn.state.tasks
    there = _target(turn.state.procedure, tasks, task, target)
    if there is None:
        return None
    keys = [each.key for each in tasks]
    at, to = keys.index(task.key), keys.index(there.key)
    ended = turn.state.progress.ended
    again = tuple(keys[to : at + 1])
    passed = tuple(key for key in keys[at + 1 : to] if key not in ended)
    left = _branches_behind(turn, again)
    return LedOn(answer=answer, to=target, again=again, passed=passed, left=left)


def _branches_behind(turn: Turn, keys: tuple[str, ...]) -> tuple[str, ...]:
    """The branches entered from tasks that are walked again."""
    return tuple(name for name, after in turn.state.progress.branches.items() if after in keys)


def _target(procedure: Procedure, tasks: tuple[Task, ...], task: Task, target: str) -> Task | None:
    """The first task of a step, preferably about the same subject, otherwise of what follows it."""
    order = [step.id for step in procedure.steps]
    step = procedure.steps[order.index(target)]
    after = {
        each.id for each in procedure.steps[order.index(target) :] if each.branch == step.branch
    }
    there = [each for each in tasks if each.step.id in after]
    same = [each for each in there if each.step.id == target and each.subject is task.subject]
    exact = [each for each in there if each.step.id == target]
    return next(iter((*same, *exact, *there)), None)
