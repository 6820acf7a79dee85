"""Moving through the tasks: to the next one, back, to a stage, to the end of the visit."""

from __future__ import annotations

from handsfree.checks.evaluate import judge_reading
from handsfree.dialogue import sentences
from handsfree.dialogue.decisions import HAND_OVER
from handsfree.dialogue.open_items import out_of_order
from handsfree.dialogue.questions.door_feature import ask_about_door
from handsfree.dialogue.questions.hand_over import ask_undecided
from handsfree.dialogue.questions.open_item import close
from handsfree.dialogue.turn import Turn
from handsfree.job.finding import Verdict, ruling
from handsfree.journal import events as ev
from handsfree.procedure.step import Task


def enter(turn: Turn, task: Task) -> None:
    """Enters a task and speaks its prompt, in brief when the step was introduced before."""
    progress = turn.state.progress
    brief = task.step.id in progress.introduced or progress.level != "full"
    turn.keep(ev.StepEntered(key=task.key))
    turn.wait_for(None)
    turn.prompt(brief=brief)
    if not turn.caution_open and _fails(turn, task):
        turn.advise()
        turn.say(sentences.adjust(turn.words, task.step, task.subject), "prompt")


def end(turn: Turn, outcome: str, reason: str | None = None, clip: str | None = None) -> None:
    """Ends the task at hand and enters the next one."""
    task = turn.task
    if task is not None:
        turn.keep(
            ev.StepEnded.model_validate(
                {"key": task.key, "outcome": outcome, "reason": reason, "reason_clip": clip}
            )
        )
    go_on(turn)


def go_on(turn: Turn) -> None:
    """Enters the next open task, or closes the visit."""
    if ask_about_door(turn):
        return
    before, following = turn.task, _next_open(turn)
    if following is None:
        close(turn)
        return
    if before is not None and before.step.stage != following.step.stage:
        _leave_stage(turn, before)
    if not _waits_for_decision(turn, following):
        enter(turn, following)


def prompt_again(turn: Turn) -> None:
    """Repeats the prompt of the task at hand in brief; after the last task, closes the visit."""
    if turn.between:
        go_on(turn)
    else:
        turn.prompt(brief=True)


def back(turn: Turn) -> None:
    """Enters the previous task again."""
    keys = [task.key for task in turn.state.tasks]
    at = turn.state.progress.at
    index = keys.index(at) if at in keys else len(keys)
    if turn.between and at in keys:
        index += 1  # all is over: the last task is the one before
    if index == 0:
        turn.tell("first_step", "answer")
        turn.prompt(brief=True)
    else:
        enter(turn, turn.state.tasks[index - 1])


def go_to(turn: Turn, stage: str) -> None:
    """Enters the first open task of a stage, or its first task."""
    there = [task for task in turn.state.tasks if task.step.stage == stage]
    if not there:
        turn.tell("no_stage", "answer")
        prompt_again(turn)
        return
    ended = turn.state.progress.ended
    following = next((task for task in there if task.key not in ended), there[0])
    if not _waits_for_decision(turn, following):
        _warn_of_open_safety(turn, following)
        enter(turn, following)


def _waits_for_decision(turn: Turn, following: Task) -> bool:
    """Whether a decision has to come before the door is handed over; it is asked for."""
    return following.step.stage == HAND_OVER and ask_undecided(turn)


def _fails(turn: Turn, task: Task) -> bool:
    """Whether the reading of a task fails already: then the door is adjusted first."""
    quantity = task.step.quantity
    last = turn.job.latest(quantity, task.subject) if quantity else None
    if last is None or task.step.adjust is None:
        return False
    return ruling(judge_reading(turn.job, turn.state.limits, last)) is Verdict.FAIL


def _next_open(turn: Turn) -> Task | None:
    progress = turn.state.progress
    keys = [task.key for task in turn.state.tasks]
    start = keys.index(progress.at) + 1 if progress.at in keys else 0
    in_order = turn.state.tasks[start:] + turn.state.tasks[:start]
    return next((task for task in in_order if task.key not in progress.ended), None)


def _leave_stage(turn: Turn, task: Task) -> None:
    """Repeats what is not in order in a stage before leaving it."""
    stage, state = turn.stage(task), turn.state
    wrong = out_of_order(turn.words, turn.job, state.limits, state.procedure, stage)
    if wrong:
        named = "; ".join(item.what for item in wrong)
        turn.tell("stage_wrong", "warning", stage=stage.title, wrong=named)
    turn.advise()


def _warn_of_open_safety(turn: Turn, following: Task) -> None:
    """Warns of a jump over steps that must not be skipped; they stay open."""
    tasks, ended = turn.state.tasks, turn.state.progress.ended
    before = tasks[: tasks.index(following)]
    jumped = sum(not task.step.may_skip and task.key not in ended for task in before)
    if jumped:
        turn.tell("jumped", "warning", count=jumped)
