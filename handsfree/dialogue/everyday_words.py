"""Everyday words: 'yes', 'no', 'good', 'loose' and 'roger' mean what the step asks for.

A step that asks yes or no takes 'yes' and 'no' as its answer; 'negative' alone takes back what was
said back before. A step on which a life hangs keeps its own word for the good case, and takes every
word for the bad one. At a readback 'good' is no assent, since it may be the end of 'not good'.
"""

from __future__ import annotations

from handsfree.dialogue.grouped_steps import asks_values, group_at
from handsfree.dialogue.questions.fact import FactQuestion
from handsfree.dialogue.sentences import is_word
from handsfree.dialogue.state import Heard, State
from handsfree.language.meaning import Choice, Meaning, Word
from handsfree.procedure.step import Step, Task


def has_own_word(step: Step) -> bool:
    """True if a life hangs on a step: lock-out, proved dead, a clear path, the fire release.

    No everyday word of assent ends one.
    """
    if step.waits == "observation":
        return step.is_pass_or_fail
    return not step.may_skip or step.danger is not None


def in_its_sense(state: State, heard: Heard) -> Heard:
    """The utterance with what its everyday word means here."""
    said = heard.meaning
    if isinstance(said, Word | Choice) and (bad := _own_bad_case(state, said)) is not None:
        return heard.model_copy(update={"meaning": bad})
    if not isinstance(said, Word | Choice) or not (said.everyday or is_word(said, "affirm")):
        return heard
    meaning = _at_step(state, said) if state.pending is None else _at_question(state, said)
    return heard.model_copy(update={"meaning": meaning})


def is_bad_case(meaning: Meaning | None) -> bool:
    """True for 'no' at a step that asks yes or no, and for 'loose' and the like."""
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
    good = said.value == "in_order" if isinstance(said, Choice) else said.kind != "negative"
    if good and has_own_word(step):
        accepts_echo = state.echo is not None and is_word(said, "affirm")
        return said if accepts_echo else Word(kind="correct")
    cautioned = step.caution is None or task.key in state.progress.cautioned
    answers = said.everyday and is_word(said, "affirm", "negative")
    if step.waits != "observation" or not cautioned or not answers:
        return said
    return Choice(value="in_order" if good else "not_in_order", everyday=True)


def _own_bad_case(state: State, said: Word | Choice) -> Word | None:
    """'No' and the like at a step that ends by its own word alone: that it is not so.

    None where something was said back that it may be meant for.
    """
    task = state.task
    if task is None or state.pending is not None or state.echo is not None:
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
    """'Yes' and 'no' answer a question for a group. 'Affirm' answers it where its values were said,
    and nothing was said back that it may be meant for.
    """
    if isinstance(said, Choice):
        return said
    if is_word(said, "affirm") and asks_values(first) and state.echo is None:
        return Choice(value="in_order", everyday=True)
    if said.everyday and is_word(said, "affirm", "negative"):
        good = said.kind == "affirm"
        return Choice(value="in_order" if good else "not_in_order", everyday=True)
    return said
