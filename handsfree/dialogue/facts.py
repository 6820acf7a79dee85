"""Choices and observations in the conversation: reading back, challenging, filing."""

from __future__ import annotations

from handsfree.dialogue import navigation, sentences
from handsfree.dialogue.pending import AskedNote, PendingFact
from handsfree.dialogue.turn import Turn
from handsfree.job.job import Fact
from handsfree.job.opening import hands_contradiction
from handsfree.job.reading import Subject
from handsfree.journal import events as ev
from handsfree.language.meaning import Choice, FactSaid
from handsfree.procedure.step import Task

_OBSERVED = ("in_order", "not_in_order")
_NOUN_OF = {"hand": "hand", "leaf": "leaf", "hinge_side": "side"}


def choose(turn: Turn, choice: Choice) -> bool:
    """Reads a choice back when the task at hand offers it; False when it does not."""
    task = turn.task
    if task is None or turn.between or task.step.fact is None or turn.caution_open:
        return False
    offered = _offered(turn, task)
    noun = _NOUN_OF.get(task.step.fact)
    if choice.value not in offered or (choice.noun and noun and choice.noun != noun):
        return False
    tasks = _all_of(turn, task) if choice.both else (task,)
    facts = tuple(
        Fact(subject=each.subject, name=task.step.fact, value=choice.value) for each in tasks
    )
    _read_back(turn, facts, _called(task), offered[choice.value])
    return True


def state(turn: Turn, said: FactSaid) -> None:
    """Reads a whole statement back ('motor two right hand'), whatever the task at hand."""
    asked = _task_of(turn, said.subject, said.name)
    if asked is None:
        turn.tell("no_such", "repair", subject=turn.words.subject(said.subject))
        return
    fact = Fact(subject=said.subject, name=said.name, value=said.value)
    say = _offered(turn, asked).get(said.value, turn.words.name("word", said.value))
    _read_back(turn, (fact,), _called(asked), say)


def file(turn: Turn, pending: PendingFact) -> None:
    """Files affirmed facts, and ends the tasks that they answer."""
    turn.wait_for(None)
    job_before = turn.job
    for fact in pending.facts:
        turn.keep(ev.FactAccepted(fact=fact))
    turn.warn_of(turn.judge_since(job_before))
    if pending.facts[0].value == "not_in_order":
        turn.wait_for(AskedNote(defect=True))
        turn.tell("what_is_wrong", "readback")
        return
    here = turn.task.key if turn.task and not turn.between else None
    answered = [_task_of(turn, fact.subject, fact.name) for fact in pending.facts]
    for asked in answered:
        if asked is None or asked.key == here:
            continue
        if turn.state.progress.ended.get(asked.key) not in ("done", "failed"):
            turn.keep(ev.StepEnded(key=asked.key, outcome="done"))
    if here in [asked.key for asked in answered if asked is not None]:
        navigation.end(turn, "done")
    else:
        # The task at hand may have left the visit with the fact, or was not asked.
        navigation.prompt_again(turn)


def tell(turn: Turn, pending: PendingFact) -> None:
    """Reads facts back."""
    said = sentences.fact_readback(turn.words, pending.facts, pending.called, pending.say)
    turn.say(said, "readback")


def _read_back(turn: Turn, facts: tuple[Fact, ...], called: str, say: str) -> None:
    pending = PendingFact(facts=facts, called=called, say=say)
    turn.wait_for(pending)
    job = turn.job
    for fact in facts:
        job = job.with_fact(fact)
    contradiction = hands_contradiction(job.opening)
    if contradiction is None or facts[0].name not in ("leaf", "hand"):
        tell(turn, pending)
        return
    turn.keep(ev.FactsChallenged(why=contradiction))
    w = turn.words
    said = sentences.fact_readback(w, facts, called, say)
    turn.tell("challenge", "warning", said=said, why=w.say(contradiction))


def _offered(turn: Turn, task: Task) -> dict[str, str]:
    if task.step.waits == "observation":
        return {value: turn.words.name("word", value) for value in _OBSERVED}
    return {option.value: option.say for option in task.step.options}


def _called(task: Task) -> str:
    step = task.step
    return step.called or (step.fact or "").replace("_", " ")


def _all_of(turn: Turn, task: Task) -> tuple[Task, ...]:
    return tuple(each for each in turn.state.tasks if each.step.id == task.step.id)


def _task_of(turn: Turn, subject: Subject, name: str) -> Task | None:
    for task in turn.state.tasks:
        if task.subject is subject and task.step.fact == name:
            return task
    return None
