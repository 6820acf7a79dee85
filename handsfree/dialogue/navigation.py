"""Moves through the tasks: forward, back, to a stage, to the end of the visit."""

from __future__ import annotations

from handsfree.checks.evaluate import judge_reading
from handsfree.dialogue import gates, lock_out, outcomes, sentences
from handsfree.dialogue.decisions import HAND_OVER, tree_of, unanswered
from handsfree.dialogue.open_faults import not_in_order
from handsfree.dialogue.open_items import out_of_order
from handsfree.dialogue.questions.door_feature import ask_about_door
from handsfree.dialogue.questions.hand_over import HandOverQuestion, ask_undecided
from handsfree.dialogue.questions.open_item import close
from handsfree.dialogue.turn import Turn
from handsfree.job.finding import Verdict, ruling
from handsfree.journal import events as ev
from handsfree.journal.search_events import SearchEnded
from handsfree.language.wording import sentence
from handsfree.procedure.step import OK, Task
from handsfree.visit_record.faults import latest_occurrence


def enter(turn: Turn, task: Task) -> None:
    """Enters a task and speaks its prompt, briefly if the step was introduced before."""
    progress = turn.state.progress
    brief = task.step.id in progress.introduced or progress.level != "full"
    turn.keep(ev.StepEntered(key=task.key))
    turn.wait_for(None)
    if task.step.names_found:
        _name_what_was_found(turn)
    turn.prompt(brief=brief)
    if not turn.caution_open and task.step.adjust is not None and fails_still(turn, task):
        _advise_on(turn, task)
        turn.say(sentences.adjust(turn.words, task.step, task.subject), "prompt")


def end(
    turn: Turn,
    outcome: str,
    reason: str | None = None,
    clip: str | None = None,
    answer: str | None = None,
) -> None:
    """Ends the current task and enters the one that its answer leads to, or the next one.

    ``answer`` is the answer's name in ``on``, if it does not follow from the outcome.
    """
    task, following = turn.task, None
    if task is not None:
        answer = answer or outcomes.answer_of(turn, task, outcome)
        if answer == OK:
            _prove_cured(turn, task)
        led = outcomes.leads(turn, task, answer)
        ended = {"key": task.key, "outcome": outcome, "reason": reason, "reason_clip": clip}
        reopened = (*outcomes.dependents(turn, task), *lock_out.proofs_again(turn, task))
        turn.keep(ev.StepEnded.model_validate({**ended, "led": led, "reopened": reopened}))
        following = outcomes.next_after(turn, task, led)
    if following is None or task is None:
        go_on(turn)
    else:
        _go_from(turn, task, following)


def _prove_cured(turn: Turn, task: Task) -> None:
    """Ends a complaint whose search had found no cure, because its step is now OK."""
    tree = tree_of(turn, task.step)
    fault = latest_occurrence(turn.state.progress.faults, f"search/{tree}")
    if tree is not None and fault is not None and fault.proved is None and fault.open:
        turn.keep(SearchEnded(tree=tree, title=fault.name, outcome="cured"))


def go_on(turn: Turn) -> None:
    """Enters the next open task, or closes the visit.

    Questions about the door come first, and so does a decision at a hold.
    """
    if ask_about_door(turn) or _asks_at_hold(turn):
        return
    lock_out.leave_out(turn)
    following = _next_open(turn)
    if following is None:
        close(turn)
    else:
        _go_from(turn, turn.task, following)


def _go_from(turn: Turn, before: Task | None, following: Task) -> None:
    if before is not None and before.step.stage != following.step.stage:
        _leave_stage(turn, before)
    arrive(turn, following)


def arrive(turn: Turn, task: Task) -> None:
    """Enters a task if the gate before it is open.

    Otherwise asks first for what the step needs, or for a decision; a step ruled out by a decision
    is left out. A step of the lock-out that came up late comes before everything behind it.
    """
    if (late := lock_out.late(turn, task)) is not None:
        turn.tell("gate_first", "warning", step=sentences.task_name(turn.words, late))
        enter(turn, late)
        return
    if _waits_for_decision(turn, task):
        return
    gate = gates.closed(turn, task)
    if gate is None:
        enter(turn, task)
    elif gate.ask is not None:
        turn.tell("gate_first", "warning", step=sentences.task_name(turn.words, gate.ask))
        arrive(turn, gate.ask)
    elif gate.item is not None:
        turn.ask(HandOverQuestion(item=gate.item, place=gates.place_of(task)))
    else:
        because = sentences.task_name(turn.words, gate.because)
        name = sentences.task_name(turn.words, task)
        turn.tell("gate_left_out", "status", step=name, because=because)
        if task.key not in turn.state.progress.ended:
            turn.keep(ev.StepEnded(key=task.key, outcome="left_out", reason=because))
        go_on(turn)


def _asks_at_hold(turn: Turn) -> bool:
    item = gates.held(turn)
    if item is not None:
        turn.ask(HandOverQuestion(item=item, place="step"))
    return item is not None


def prompt_again(turn: Turn) -> None:
    """Repeats the prompt of the current task briefly; after the last task, closes the visit."""
    if turn.between:
        go_on(turn)
    elif turn.task is not None and lock_out.late(turn, turn.task) is not None:
        arrive(turn, turn.task)
    else:
        turn.prompt(brief=True)


def back(turn: Turn) -> None:
    """Enters the previous task again."""
    keys = [task.key for task in turn.state.tasks]
    at = turn.state.progress.at
    index = keys.index(at) if at in keys else len(keys)
    if turn.between and at in keys:
        index += 1  # everything is over: the last task is the previous one
    if index == 0:
        turn.tell("first_step", "answer")
        turn.prompt(brief=True)
    else:
        before = turn.state.tasks[index - 1]
        if (group := before.step.group) is not None and group not in turn.state.progress.opened:
            turn.keep(ev.GroupOpened(group=group))  # only one of its answers is wanted
        arrive(turn, before)


def go_to(turn: Turn, stage: str) -> None:
    """Enters the first open task of a stage, or its first task."""
    there = [task for task in turn.state.tasks if task.step.stage == stage]
    if not there:
        turn.tell("no_stage", "answer")
        prompt_again(turn)
        return
    ended = turn.state.progress.ended
    following = next((task for task in there if task.key not in ended), there[0])
    if _asks_at_hold(turn) or _waits_for_decision(turn, following):
        return
    _warn_of_open_safety(turn, following)
    arrive(turn, following)


def _name_what_was_found(turn: Turn) -> None:
    """Names everything that is not OK."""
    found = "; ".join(item.what for item in not_in_order(turn))
    if found:
        turn.tell("walk_found", "warning", what=found)
    else:
        turn.tell("walk_found_none", "status")


def _waits_for_decision(turn: Turn, following: Task) -> bool:
    """True if something must come before the hand-over; asks for it.

    That is a task that must be answered and was not asked, or a decision on an open item.
    """
    if following.step.stage != HAND_OVER:
        return False
    missing = unanswered(turn, None)
    if missing:
        turn.tell("gate_first", "warning", step=sentences.task_name(turn.words, missing[0]))
        arrive(turn, missing[0])
        return True
    return ask_undecided(turn)


def _advise_on(turn: Turn, task: Task) -> None:
    """Repeats the advice on the last reading of a task that asks what to adjust."""
    quantity = task.step.quantity
    last = turn.job.latest(quantity, task.subject) if quantity else None
    turn.advise()
    for found in judge_reading(turn.job, turn.state.limits, last) if last else ():
        if found.advice and found.verdict is not Verdict.PASS:
            turn.say(sentence(found.advice), "advice")


def fails_still(turn: Turn, task: Task) -> bool:
    """True if the last reading of a task still fails."""
    quantity = task.step.quantity
    last = turn.job.latest(quantity, task.subject) if quantity else None
    if last is None:
        return False
    return ruling(judge_reading(turn.job, turn.state.limits, last)) is Verdict.FAIL


def _next_open(turn: Turn) -> Task | None:
    """The next open task; whatever is open before the hand-over comes before it."""
    progress = turn.state.progress
    keys = [task.key for task in turn.state.tasks]
    start = keys.index(progress.at) + 1 if progress.at in keys else 0
    in_order = turn.state.tasks[start:] + turn.state.tasks[:start]
    still = [task for task in in_order if task.key not in progress.ended]
    if still and still[0].step.stage == HAND_OVER and not _hands_over(turn):
        # What was jumped over, or came up late, is looked at before people go through.
        return next((task for task in turn.state.tasks if task in still), None)
    return still[0] if still else None


def _hands_over(turn: Turn) -> bool:
    """True if the visit is at the hand-over already."""
    return turn.task is not None and turn.task.step.stage == HAND_OVER


def _leave_stage(turn: Turn, task: Task) -> None:
    """Repeats what is not OK in a stage before leaving it."""
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
