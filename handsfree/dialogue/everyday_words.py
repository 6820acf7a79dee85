"""Everyday words: interprets 'yes', 'no', 'good', 'loose' and 'roger' by the question.

A yes-or-no step takes 'yes' and 'no' as its answer; only 'negative' takes back the previous answer.
A life-critical step accepts only its own word for the good case, and any word for the bad one. At a
readback 'good' is not assent, because it may be the end of 'not good'.
"""

from __future__ import annotations

from handsfree.dialogue.grouped_steps import asks_values, group_at
from handsfree.dialogue.questions.fact import FactQuestion
from handsfree.dialogue.sentences import is_word
from handsfree.dialogue.state import Heard, State
from handsfree.language.meaning import Choice, Meaning, Word
from handsfree.procedure.step import Step, Task


def has_own_word(step: Step) -> bool:
    """True for a life-critical step: lock-out, proved dead, a clear path, the fire release.

    No everyday assent ends one.
    """
    if step.waits == "observation":
        return step.is_pass_or_fail
    return not step.may_skip or step.danger is not None


def in_its_sense(state: State, heard: Heard) -> Heard:
    """The utterance with its everyday word replaced by the meaning it has here."""
    said = heard.meaning
    if isinstance(said, Word | Choice) and (bad := _own_bad_case(state, said)) is not None:
        return heard.model_copy(update={"meaning": bad})
    if not isinstance(said, Word | Choice) or not (said.everyday or is_word(said, "affirm")):
        return heard
    meaning = _at_step(state, said) if state.pending is None else _at_question(state, said)
    return heard.model_copy(update={"meaning": meaning})


def is_bad_case(meaning: Meaning | None) -> bool:
    """True for 'no' at a yes-or-no step, and for 'loose' and similar words."""
    return isinstance(meaning, Choice) and meaning.everyday and meaning.value == "not_in_order"


def _at_question(state: State, said: Word | Choice) -> Meaning:
    question = state.pending
    if question is None or isinstance(said, Word):
        return said
    if said.value == "in_order":
        return Word(kind="correct")
    if question.yes_or_no and not isinstance(question, FactQuestion):
        return Word(kind="negative")
    return said


def _at_step(state: State, said: Word | Choice) -> Meaning:
    task = state.task
    if task is None or task.key in state.progress.ended:
        return said
    step = task.step
    if group := group_at(state):
        return _at_group(state, group[0], said)
    if state.echo is None and waits_for_caution(state, task) and _is_no(said):
        return Word(kind="not_clear")
    good = said.value == "in_order" if isinstance(said, Choice) else said.kind != "negative"
    if good and has_own_word(step):
        accepts_echo = state.echo is not None and is_word(said, "affirm")
        return said if accepts_echo else Word(kind="correct")
    cautioned = not waits_for_caution(state, task)
    answers = said.everyday and is_word(said, "affirm", "negative")
    if step.waits != "observation" or not cautioned or not answers:
        return said
    return Choice(value="in_order" if good else "not_in_order", everyday=True)


def waits_for_caution(state: State, task: Task) -> bool:
    """True if the caution of a task waits for its word."""
    return task.step.caution is not None and task.key not in state.progress.cautioned


def _is_no(said: Word | Choice) -> bool:
    """True for 'no', 'loose' and the like; 'negative' takes back what was said before."""
    if isinstance(said, Choice):
        return said.everyday and said.value == "not_in_order"
    return said.everyday and said.kind == "negative"


def _own_bad_case(state: State, said: Word | Choice) -> Word | None:
    """Interprets 'no' and the like at a step that only its own word ends: it is not so.

    None if a caution waits, or if an echoed answer could be meant.
    """
    task = state.task
    if task is None or state.pending is not None or state.echo is not None:
        return None
    if waits_for_caution(state, task):
        return None
    if isinstance(said, Choice):
        refused = said.value == "not_in_order"
    else:
        refused = said.everyday and said.kind == "negative"
    match task.step.own_word:
        case "proved_dead" if refused:
            return Word(kind="still_live")
        case "locked_out" if refused:
            return Word(kind="not_locked")
        case _:
            return None


def _at_group(state: State, first: Task, said: Word | Choice) -> Meaning:
    """Interprets 'yes' and 'no' at a group.

    They answer the group's question. 'Affirm' answers it too if its values were spoken, unless an
    echoed answer could be meant.
    """
    if isinstance(said, Choice):
        return said
    if is_word(said, "affirm") and asks_values(first) and state.echo is None:
        return Choice(value="in_order", everyday=True)
    if said.everyday and is_word(said, "affirm", "negative"):
        good = said.kind == "affirm"
        return Choice(value="in_order" if good else "not_in_order", everyday=True)
    return said
