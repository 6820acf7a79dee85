"""Answers that name the inspected item: each goes to its own step and to no other.

Only steps that can be grouped take them: an assent those of the current group, a refusal any open
one. An assent without a matching step is ignored. A refusal without one is a fault that was found
if it has a name, and the rest of the utterance follows it; otherwise it discards the whole
utterance. A refusal overrides an assent.
"""

from __future__ import annotations

from handsfree.dialogue import facts, fault_commands, implicit_confirmation
from handsfree.dialogue.questions.fact import FactQuestion
from handsfree.dialogue.state import Heard
from handsfree.dialogue.turn import Turn
from handsfree.job.fault_kinds import FAULT_KINDS, fault_of_observation, places
from handsfree.job.job import Fact
from handsfree.job.reading import Subject
from handsfree.language.item_answers import ItemSaid, ItemsSaid
from handsfree.language.meaning import Choice, Found
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
    if _answers_by_itself(turn, said, heard):
        return
    row = _row(turn)
    said = _dead(said, row)
    others = tuple(task for task in _listed(turn) if task not in row) if row else ()
    placed = placements(row, said.items, others)
    if not placed:
        if _named_fault(turn, said, row, others, heard):
            return
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


_DEAD = {"plate": "plate_opens", "sensors_clean": "sensors_act"}
"""What a dead plate or sensor does not do, by what is looked at."""


def _dead(said: ItemsSaid, row: tuple[Task, ...]) -> ItemsSaid:
    """The items, with a dead plate as one that does not open the door, where that is asked."""
    asked = {task.step.fact for task in row}
    return ItemsSaid(
        items=tuple(
            item.model_copy(update={"name": _DEAD[item.name]})
            if item.state == "dead" and _DEAD.get(item.name) in asked
            else item
            for item in said.items
        )
    )


def _answers_by_itself(turn: Turn, said: ItemsSaid, heard: Heard) -> bool:
    """Takes 'sensors dead' as the refusal of a step that asks whether they act."""
    task, item = turn.task, said.items[0]
    if task is None or turn.between or turn.caution_open or len(said.items) > 1:
        return False
    if item.state != "dead" or task.step.group is not None:
        return False
    if task.step.fact is None or _DEAD.get(item.name) != task.step.fact:
        return False
    return facts.choose(turn, Choice(value="not_in_order", everyday=True), heard)


def _named_fault(
    turn: Turn, said: ItemsSaid, row: tuple[Task, ...], others: tuple[Task, ...], heard: Heard
) -> bool:
    """Reads the first refusal that no step asks for back as a fault; what else was said follows.

    False, and nothing is kept, where one of these refusals has no name.
    """
    unplaced = [
        item
        for item in said.items
        if item.value == "not_in_order" and not placements(row, (item,), others)
    ]
    if not unplaced or not all(_has_name(turn, item) for item in unplaced):
        return False
    item, kind = unplaced[0], fault_of_observation(unplaced[0].name, unplaced[0].state)
    left = tuple(each for each in said.items if each is not item)
    more = len(unplaced) > 1 or bool(placements(row, left, others))
    rest = ItemsSaid(items=left) if more else None
    if left and not more:
        turn.tell("items_left", "status")
    if kind is not None:
        fault_commands.found(turn, Found(value=kind, subject=item.subject), heard, rest)
    return True


def _has_name(turn: Turn, item: ItemSaid) -> bool:
    """True if a refusal is a fault with a name, at a place that the door has."""
    kind = fault_of_observation(item.name, item.state)
    if kind is None:
        return False
    return item.subject is None or item.subject in places(FAULT_KINDS[kind], turn.job.opening)


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
