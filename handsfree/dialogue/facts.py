"""Choices and observations: reading them back, and challenging what cannot be."""

from __future__ import annotations

from handsfree.dialogue import implicit_confirmation
from handsfree.dialogue.questions.fact import FactQuestion, offered_by, offers, task_of
from handsfree.dialogue.state import Heard
from handsfree.dialogue.turn import Turn
from handsfree.job.job import Fact
from handsfree.job.opening import hands_contradiction
from handsfree.journal import events as ev
from handsfree.language.meaning import Choice, FactSaid
from handsfree.procedure.step import Task


def choose(turn: Turn, choice: Choice, heard: Heard) -> bool:
    """Reads a choice back where the task at hand offers it; False where it does not."""
    task = turn.task
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
    """Reads a complete statement back ('motor two right hand'), whatever the task at hand."""
    asked = task_of(turn, said.subject, said.name)
    if asked is None:
        turn.tell("no_such", "repair", subject=turn.words.subject(said.subject))
        return
    fact = Fact(subject=said.subject, name=said.name, value=said.value)
    say = offered_by(turn, asked).get(said.value, turn.words.name("word", said.value))
    _read_back(turn, (fact,), _called(asked), say, heard)


def _read_back(turn: Turn, facts: tuple[Fact, ...], called: str, say: str, heard: Heard) -> None:
    question = FactQuestion(facts=facts, called=called, say=say)
    job = turn.job
    for fact in facts:
        job = job.with_fact(fact)
    contradiction = hands_contradiction(job.opening)
    if contradiction is None or facts[0].name not in ("leaf", "hand"):
        implicit_confirmation.put(turn, question, heard)
        return
    turn.wait_for(question)
    turn.keep(ev.FactsChallenged(why=contradiction))
    why = turn.words.say(contradiction)
    turn.tell("challenge", "warning", said=question.spoken(turn), why=why)


def _called(task: Task) -> str:
    step = task.step
    return step.called or (step.fact or "").replace("_", " ")


def _all_of(turn: Turn, task: Task) -> tuple[Task, ...]:
    return tuple(each for each in turn.state.tasks if each.step.id == task.step.id)
