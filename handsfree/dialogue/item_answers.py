"""Answers that name the inspected item: each goes to its own step and to no other.

Only steps that can be grouped take them: an assent those of the current group, a refusal any open
one. An assent without a matching step is ignored; a refusal without one discards the whole
utterance. A refusal overrides an assent.
"""

from __future__ import annotations

from handsfree.dialogue import implicit_confirmation
from handsfree.dialogue.questions.fact import FactQuestion
from handsfree.dialogue.state import Heard
from handsfree.dialogue.turn import Turn
from handsfree.job.job import Fact
from handsfree.job.reading import Subject
from handsfree.language.item_answers import ItemSaid, ItemsSaid
from handsfree.procedure.step import Task


def take(turn: Turn, said: ItemsSaid, heard: Heard) -> None:
    """Says the answers back, or asks for 'affirm' if one is a refusal."""
    before = turn.state.pending
    changed = before if isinstance(before, FactQuestion) and not before.is_bad else None
    if changed is not None and not changed.is_replaced_by(turn, said):
        changed = None
    if before is not None and changed is None:
        turn.tell("first_answer", "repair")
        turn.ask_again()
        return
    row = _row(turn)
    others = tuple(task for task in _listed(turn) if task not in row) if row else ()
    placed = placements(row, said.items, others)
    if not placed:
        if row:
            turn.tell("items_not_asked", "repair")
        turn.say(turn.hint, "repair")
        return
    if any(
        item.name not in {t.step.fact for t in (*row, *others) if t.key in placed}
        for item in said.items
    ):
        turn.tell("items_left", "status")
    earlier = () if changed is None else changed.facts
    known = {(fact.subject, fact.name): fact.value for fact in earlier}
    values = {
        task.key: (task, placed.get(task.key) or known.get((task.subject, task.step.fact or "")))
        for task in (*row, *others)
    }
    facts = tuple(
        Fact(subject=task.subject, name=task.step.fact, value=value)
        for task, value in values.values()
        if value is not None and task.step.fact is not None
    )
    implicit_confirmation.put(turn, FactQuestion(facts=facts, called="", say="", named=True), heard)


def placements(
    row: tuple[Task, ...], items: tuple[ItemSaid, ...], others: tuple[Task, ...] = ()
) -> dict[str, str]:
    """The value of each named step, by its key; {} if no step fits, or none fits a refusal.

    An item without a leaf or side belongs to the one named last, otherwise to all of its step.
    """
    found: dict[str, str] = {}
    last: Subject | None = None
    for item in items:
        last = item.subject or last
        named = [task for task in row if task.step.fact == item.name]
        if not named and item.value == "not_in_order":
            named = [task for task in others if task.step.fact == item.name]
        there = [task for task in named if task.subject is last]
        if item.subject is not None or there:
            named = there
        if not named and item.value == "not_in_order":
            return {}
        for task in named:
            if found.get(task.key) != "not_in_order":
                found[task.key] = item.value
    return found


def _row(turn: Turn) -> tuple[Task, ...]:
    """The open observations in the group of the current step; () if it is not in a group."""
    here = turn.task
    if here is None or turn.between or turn.caution_open:
        return ()
    row = tuple(task for task in _listed(turn) if task.step.group == here.step.group)
    return row if here in row else ()


def _listed(turn: Turn) -> tuple[Task, ...]:
    """The open observations of the visit that may appear in a grouped question."""
    return tuple(
        task
        for task in turn.state.tasks
        if task.step.item is not None
        and task.step.waits == "observation"
        and task.key not in turn.state.progress.ended
    )
