"""The words that answer a step: clear, not clear, done, locked out, proved dead, skip."""

from __future__ import annotations

from handsfree.dialogue import (
    caution_hold,
    group_answers,
    grouped_steps,
    listed_values,
    navigation,
    sentences,
)
from handsfree.dialogue.everyday_words import has_own_word
from handsfree.dialogue.questions.skip_reason import ask_for_reason
from handsfree.dialogue.state import Heard
from handsfree.dialogue.turn import Turn
from handsfree.job.quantity import SETTINGS
from handsfree.journal import events as ev
from handsfree.procedure.step import SKIPPED


def clear(turn: Turn) -> None:
    """Acknowledges the caution of the current task."""
    task = turn.task
    entered_again = task is not None and not turn.between and task.step.waits == "caution"
    waits = turn.caution_open or entered_again
    if task is None or not waits or task.step.word != "clear":
        turn.say(turn.hint, "repair")
        return
    turn.keep(ev.CautionAcknowledged(key=task.key, word="clear"))
    if task.step.waits == "caution":
        navigation.end(turn, "done")
    else:
        turn.prompt()


def not_clear(turn: Turn) -> None:
    """Answers 'not clear' and 'no': a caution, and a step that must not be skipped, hold."""
    task, w = turn.task, turn.words
    if task is None or turn.between:
        turn.say(turn.hint, "repair")
    elif turn.caution_open or task.step.waits == "caution":
        caution = (task.step.caution or "").format(subject=w.subject(task.subject))
        caution_hold.hold(turn, caution)
    elif task.step.waits == "done" and has_own_word(task.step):
        turn.tell("done_hold", "caution", wait=turn.step_hint)
    else:
        turn.say(turn.hint, "repair")


def done(turn: Turn) -> None:
    """Ends the current task, unless it still lacks an answer."""
    task = turn.task
    if task is None or turn.between:
        navigation.prompt_again(turn)
        return
    step, w = task.step, turn.words
    group = grouped_steps.group_at(turn.state)
    if group and step.waits == "done":
        group_answers.all_done(turn, group)
        return
    if group:
        turn.say(turn.hint, "repair")
        return
    if turn.caution_open:
        turn.tell("wants_word", "repair", word=w.name("word", step.word or ""))
    elif step.own_word is not None:
        turn.tell("wants_word", "repair", word=w.name("word", step.own_word))
    elif step.waits == "done":
        navigation.end(turn, "done")
    elif step.quantity and turn.job.latest(step.quantity, task.subject):
        navigation.end(turn, "failed" if navigation.fails_still(turn, task) else "done")
    elif step.waits == "reading":
        turn.tell("reading_missing", "repair", wait=sentences.waits_for(w, step))
    else:
        turn.say(sentences.waits_for(w, step), "repair")


def own_word(turn: Turn, said: str) -> None:
    """Ends a life-critical step that waits for this word."""
    task = turn.task
    if task is None or turn.between or turn.caution_open or task.step.own_word != said:
        turn.say(turn.hint, "repair")
    else:
        navigation.end(turn, "done")


def bad_case(turn: Turn, said: str, heard: Heard) -> None:
    """Warns that a life-critical step is not done, and keeps the answer as a note."""
    task = turn.task
    word = task.step.own_word if task is not None and not turn.between else None
    if task is None or word is None or sentences.BAD_CASE[word] != said:
        turn.say(turn.hint, "repair")
        return
    turn.keep(ev.NoteKept(step_key=task.key, text=heard.text, clip=heard.clip))
    turn.tell("still_live_stop" if said == "still_live" else "not_locked_yet", "warning")
    turn.say(turn.hint, "prompt")


def skip(turn: Turn) -> None:
    """Asks for the reason for skipping a step, if it may be skipped."""
    if turn.task is None or turn.between or not turn.task.step.may_skip:
        turn.tell("no_skip", "repair")
    else:
        group = grouped_steps.group_at(turn.state) or listed_values.listed_at(turn.state)
        ask_for_reason(turn, tuple(task.key for task in group))


def skip_stage(turn: Turn, stage: str) -> None:
    """Asks for one reason for skipping every open step of a stage that may be skipped.

    Skipping the settings includes those that are read again before the hand-over.
    """
    state = turn.state
    keys = tuple(
        task.key
        for task in state.tasks
        if (task.step.stage == stage or (stage == "settings" and task.step.quantity in SETTINGS))
        and task.step.may_skip
        and SKIPPED not in task.step.on
        and task.key not in state.progress.ended
    )
    if keys:
        ask_for_reason(turn, keys)
        return
    there = any(task.step.stage == stage for task in state.tasks)
    turn.tell("no_skip" if there else "no_stage", "repair")
