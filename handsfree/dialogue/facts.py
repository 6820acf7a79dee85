"""Reads choices and observations back, and challenges impossible ones."""

from __future__ import annotations

from handsfree.dialogue import group_answers, grouped_steps, implicit_confirmation
from handsfree.dialogue.fact_filing import task_of
from handsfree.dialogue.questions.fact import FactQuestion, offered_by, offers
from handsfree.dialogue.questions.hands import HandsQuestion, why
from handsfree.dialogue.state import Heard
from handsfree.dialogue.turn import Turn
from handsfree.job.door_feature import FEATURES
from handsfree.job.handing import MOTOR_NUMBER, new_contradictions
from handsfree.job.job import Fact, leaf_side
from handsfree.job.opening import Side
from handsfree.job.reading import Subject
from handsfree.journal import events as ev
from handsfree.language.door_words import feature_name, hand_name, value_name
from handsfree.language.meaning import Choice, FactSaid
from handsfree.procedure.step import Task


def choose(turn: Turn, choice: Choice, heard: Heard) -> bool:
    """Reads a choice back if the current task offers it; otherwise returns False."""
    task = turn.task
    if group := grouped_steps.group_at(turn.state):
        return group_answers.choose(turn, group, choice, heard)
    if task is None or task.step.fact is None or turn.between or turn.caution_open:
        return False
    if not offers(turn, task, choice):
        return False
    tasks = _all_of(turn, task) if choice.both else (task,)
    facts = tuple(
        Fact(subject=each.subject, name=task.step.fact, value=choice.value) for each in tasks
    )
    _read_back(turn, facts, _called(task), offered_by(turn, task)[choice.value], heard)
    return True


def state(turn: Turn, said: FactSaid, heard: Heard) -> None:
    """Reads a complete statement back ('the lock is a latch'), whatever the current task is."""
    if not _is_there(turn, said.subject):
        turn.tell("no_such", "repair", subject=turn.words.subject(said.subject))
        return
    fact = Fact(subject=said.subject, name=said.name, value=said.value)
    asked = task_of(turn, said.subject, said.name)
    offered = offered_by(turn, asked) if asked is not None else {}
    called = _called(asked) if asked is not None else _name(turn, said.name)
    _read_back(turn, (fact,), called, offered.get(said.value) or _value(turn, fact), heard)


def _is_there(turn: Turn, subject: Subject) -> bool:
    """True if the door has the leaf or motor that a statement is about."""
    if subject in MOTOR_NUMBER:
        return turn.job.opening.motor(MOTOR_NUMBER[subject]) is not None
    side = leaf_side(subject)
    return side is None or turn.job.opening.leaf(side) is not None


def _name(turn: Turn, name: str) -> str:
    return feature_name(turn.words, name) if name in FEATURES else turn.words.name("word", name)


def _value(turn: Turn, fact: Fact) -> str:
    if fact.name in FEATURES:
        return value_name(turn.words, fact.name, fact.value)
    if fact.name == "hand":
        return hand_name(turn.words, Side(fact.value))
    return turn.words.name("word", fact.value)


def _read_back(turn: Turn, facts: tuple[Fact, ...], called: str, say: str, heard: Heard) -> None:
    question = FactQuestion(facts=facts, called=called, say=say)
    job = turn.job
    for fact in facts:
        job = job.with_fact(fact)
    clashes = new_contradictions(turn.job.opening, job.opening)
    if not clashes:
        implicit_confirmation.put(turn, question, heard)
        return
    turn.keep(ev.FactsChallenged(why=why(turn, facts, clashes)))
    turn.ask(HandsQuestion(facts=facts, spoken=question.spoken(turn), clashes=clashes))


def _called(task: Task) -> str:
    step = task.step
    return step.called or (step.fact or "").replace("_", " ")


def _all_of(turn: Turn, task: Task) -> tuple[Task, ...]:
    return tuple(each for each in turn.state.tasks if each.step.id == task.step.id)
