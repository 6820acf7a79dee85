"""Choices and observations in the conversation: reading back, challenging, filing."""

from __future__ import annotations

from handsfree.dialogue import wording
from handsfree.dialogue.state import AskedNote, Heard, PendingFact
from handsfree.dialogue.turn import Turn
from handsfree.grammar.meaning import Choice, FactSaid
from handsfree.job.job import Fact
from handsfree.job.opening import hands_contradiction
from handsfree.job.reading import Subject
from handsfree.journal import events as ev
from handsfree.procedure.step import Task

_OBSERVED = {"in_order": "in order", "not_in_order": "not in order"}
_NOUN_OF = {"hand": "hand", "leaf": "leaf", "hinge_side": "side"}


def choose(turn: Turn, choice: Choice, heard: Heard) -> bool:
    """Reads a choice back when the task at hand offers it; False when it does not."""
    task = turn.task
    if task is None or task.step.fact is None or turn.caution_open:
        return False
    offered = _offered(task)
    noun = _NOUN_OF.get(task.step.fact)
    if choice.value not in offered or (choice.noun and noun and choice.noun != noun):
        return False
    fact = Fact(subject=task.subject, name=task.step.fact, value=choice.value)
    _read_back(turn, fact, offered[choice.value])
    return True


def state(turn: Turn, said: FactSaid) -> None:
    """Reads a whole statement back ('motor two right hand'), whatever the task at hand."""
    asked = _task_of(turn, said.subject, said.name)
    if asked is None:
        turn.say(wording.no_such(said.subject), "repair")
        return
    fact = Fact(subject=said.subject, name=said.name, value=said.value)
    _read_back(turn, fact, _offered(asked).get(said.value, said.value.replace("_", " ")))


def file(turn: Turn, pending: PendingFact) -> None:
    """Files an affirmed fact, and ends the task that it answers."""
    turn.wait_for(None)
    fact, job_before = pending.fact, turn.job
    turn.keep(ev.FactAccepted(fact=fact))
    turn.warn_of(turn.judge_since(job_before))
    if fact.value == "not_in_order":
        turn.wait_for(AskedNote(defect=True))
        turn.say(wording.WHAT_IS_WRONG, "prompt")
        return
    asked = _task_of(turn, fact.subject, fact.name)
    if asked is None or turn.task is None or asked.key == turn.task.key:
        turn.end("done")
        return
    if asked.key not in turn.state.progress.ended:
        turn.keep(ev.StepEnded(key=asked.key, outcome="done"))
    turn.prompt(brief=True)


def _read_back(turn: Turn, fact: Fact, say: str) -> None:
    said = wording.fact_readback(fact, say)
    contradiction = hands_contradiction(turn.job.with_fact(fact).opening)
    if contradiction is not None and fact.name in ("leaf", "hand"):
        turn.keep(ev.FactsChallenged(why=contradiction))
        turn.wait_for(PendingFact(fact=fact, say=say))
        turn.say(wording.challenge(contradiction, said), "warning")
        return
    turn.wait_for(PendingFact(fact=fact, say=say))
    turn.say(said, "readback")


def _offered(task: Task) -> dict[str, str]:
    if task.step.waits == "observation":
        return _OBSERVED
    return {option.value: option.say for option in task.step.options}


def _task_of(turn: Turn, subject: Subject, name: str) -> Task | None:
    for task in turn.state.tasks:
        if task.subject is subject and task.step.fact == name:
            return task
    return None
