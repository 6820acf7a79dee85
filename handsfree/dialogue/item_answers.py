"""Answers that name what was looked at: each goes to its own step, and to no other.

Only steps that may be asked as one question take them: an assent from the row that is asked now, a
refusal from any that is open. An assent without a step is left out; a refusal without one makes the
whole utterance count for nothing. A refusal wins over an assent.
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
    """Says the answers back, or asks for their 'affirm' where one is a refusal."""
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

    Without a leaf or a side an item goes to the one that was named last, else to all of its step.
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
    """The open observations of the group of the step at hand; () where that is no such step."""
    here = turn.task
    if here is None or turn.between or turn.caution_open:
        return ()
    row = tuple(task for task in _listed(turn) if task.step.group == here.step.group)
    return row if here in row else ()


def _listed(turn: Turn) -> tuple[Task, ...]:
    """The open observations of the visit that a question may list."""
    return tuple(
        task
        for task in turn.state.tasks
        if task.step.item is not None
        and task.step.waits == "observation"
        and task.key not in turn.state.progress.ended
    )
