"""A technician who walks any procedure with random answers, bad ones included.

The answers are meanings, not texts, because the targets of answers are tested, not their
recognition. Every walk is checked for things that must never happen; :class:`LostWalk` names the
one that did.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from random import Random
from typing import NamedTuple

from handsfree.checks.limits import load_limits
from handsfree.diagnosis.search import phase
from handsfree.diagnosis.search_tree import Cause
from handsfree.dialogue import searching, state_machine
from handsfree.dialogue.questions.accepted_by import AcceptedByQuestion
from handsfree.dialogue.questions.cause_search import CauseSearchQuestion
from handsfree.dialogue.questions.hand_over import HandOverQuestion
from handsfree.dialogue.questions.note import NoteQuestion
from handsfree.dialogue.questions.open_item import OpenItemQuestion
from handsfree.dialogue.questions.skip_reason import SkipReasonQuestion
from handsfree.dialogue.questions.what_was_done import WhatWasDoneQuestion
from handsfree.dialogue.state import Heard, Keep, State
from handsfree.dialogue.turn import Turn
from handsfree.job.feature_values import with_opening_feature
from handsfree.job.job import Sheet
from handsfree.job.opening import Opening, Swing
from handsfree.job.quantity import QUANTITIES
from handsfree.job.reading import Taken
from handsfree.journal import events as ev
from handsfree.language.meaning import Choice, GoTo, Meaning, ReadingSaid, Word, Worked
from handsfree.procedure.step import Procedure, Task
from handsfree.visit.resume import first_state, opening_event

from .technician import opening

LIMITS = load_limits("a156.19")
MOST_TURNS = 6000
"""Number of turns after which a walk counts as endless; the longest seen took a tenth."""
_WORDS = {"yes": "affirm", "no": "negative", "done": "done", "skip": "skip"}


class LostWalk(AssertionError):
    """A walk that broke a rule for all visits."""


class Manner(NamedTuple):
    """How often an answer is bad, a step is skipped, and the technician goes elsewhere."""

    bad: float = 0.3
    skip: float = 0.1
    wander: float = 0.0


class Walked(NamedTuple):
    """A walk that reached its end: its journal, and the turns that it took."""

    journal: list[ev.Body]
    turns: int


def a_door(random: Random) -> Opening:
    """A single leaf or a pair, with a random part of the possible equipment."""
    door = opening(random.choice(list(Swing)), everything=random.random() < 0.7)
    for name in ("guide_rails", "vestibule"):
        door = with_opening_feature(door, name, random.choice(["yes", "no"]))
    return door


def walk(procedure: Procedure, random: Random, manner: Manner | None = None) -> Walked:
    """Answers at random until the visit closes. Raises LostWalk."""
    manner = manner or Manner()
    sheet = Sheet(reference="T", site="a test", technician="nobody", opening=a_door(random))
    state, replies = state_machine.begin(first_state(sheet, procedure, LIMITS), 0.0)
    shell = {"model": "none", "ears": "typed", "mouth": "none"}
    journal: list[ev.Body] = [opening_event(sheet, procedure, LIMITS, **shell)]
    journal += _kept(state, replies)
    for turn in range(MOST_TURNS):
        if state.progress.closed:
            return Walked(journal, turn)
        state, replies = state_machine.answer(state, answer(state, random, manner), float(turn))
        journal += _kept(state, replies)
    raise LostWalk(f"{procedure.name} has no end after {MOST_TURNS} turns: {state.progress.at}")


def _kept(state: State, replies: tuple[object, ...]) -> Iterator[ev.Body]:
    for reply in replies:
        if isinstance(reply, Keep):
            if isinstance(reply.body, ev.StepEntered):
                _hold_to_the_gates(state, reply.body.key)
            yield reply.body


def _hold_to_the_gates(state: State, key: str) -> None:
    """Checks the gates by the facts alone, independently of the tool's own gates."""
    task = next((each for each in state.tasks if each.key == key), None)
    if task is None:
        return
    wrong = {f"{f.subject}/{f.name}" for f in state.progress.job.facts if f.value == "not_in_order"}
    needed = {
        each.fact for each in state.procedure.steps if each.id in task.step.needs and each.fact
    }
    bad = [item for item in wrong if item.partition("/")[2] in needed]
    if task.step.danger is not None and bad:
        raise LostWalk(f"{key} was entered with {', '.join(bad)} not in order")
    uncured = {life.key for life in state.progress.faults if life.kind == "complaint" and life.open}
    undecided = (wrong | uncured) - set(state.progress.settled)
    if task.step.stage == "hand-over" and undecided:
        raise LostWalk(f"{key} was entered with {', '.join(undecided)} undecided")


def answer(state: State, random: Random, manner: Manner) -> Heard:
    """The technician's next answer."""
    return Heard(text="it grinds", meaning=_meaning(state, random, manner), taken=Taken.TYPED)


def _meaning(state: State, random: Random, manner: Manner) -> Meaning | None:
    match state.pending:
        case NoteQuestion() | SkipReasonQuestion() | AcceptedByQuestion():
            return None
        case OpenItemQuestion():
            return Word(kind=random.choice(("done_later", "refused")))
        case HandOverQuestion(place=place):
            weights = (6, 1, 2) if place == "hand-over" else (6, 0.1, 2)
            (kind,) = random.choices(("put_right", "tagged_out", "accepted"), weights)
            return Word.model_validate({"kind": kind})
        case WhatWasDoneQuestion():
            return Worked(value=random.choice(("adjusted", "repaired", "nothing")))
        case CauseSearchQuestion() as question:
            return _searched(state, question, random)
        case None:
            pass
        case _:
            return Word(kind="affirm" if random.random() < 0.9 else "negative")
    if random.random() < manner.wander:
        stages = [stage.id for stage in state.procedure.stages]
        return random.choice([GoTo(stage=random.choice(stages)), Word(kind="go_back")])
    task = state.task
    assert task is not None
    return _step(state, task, random, manner)


def _step(state: State, task: Task, random: Random, manner: Manner) -> Meaning:
    step = task.step
    if step.caution is not None and task.key not in state.progress.cautioned:
        return Word(kind="clear")
    if step.may_skip and random.random() < manner.skip:
        return Word(kind="skip")
    if step.own_word is not None:
        return Word(kind=step.own_word)
    match step.waits:
        case "observation":
            return Choice(value="not_in_order" if random.random() < manner.bad else "in_order")
        case "choice":
            return Choice(value=random.choice(step.options).value)
        case "reading":
            assert step.quantity is not None
            row = QUANTITIES[step.quantity]
            low, high = row.low, row.high
            value = low + (high - low) * Decimal(random.randint(1, 99)) / 100
            return ReadingSaid(quantity=step.quantity, subject=task.subject, value=round(value, 1))
        case _:
            return Word(kind="done")


def _searched(state: State, question: CauseSearchQuestion, random: Random) -> Meaning:
    turn = Turn(state)
    found = searching.under_way(turn)
    node = found[0].node(found[1].at) if found is not None else None
    learns = isinstance(node, Cause) and found is not None and phase(node, found[1]) == "learn"
    if (learns or getattr(node, "caution", None) is not None) and not question.cautioned:
        return Word(kind="clear")
    allowed = searching.choices(*found) if found is not None else ()
    said = random.choice([each for each in allowed if each != "skip" or random.random() < 0.2])
    return Word.model_validate({"kind": _WORDS[said]}) if said in _WORDS else Choice(value=said)
