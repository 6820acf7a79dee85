"""The open faults of a visit: their spoken names, and the steps that prove a repair."""

from __future__ import annotations

from collections.abc import Iterable

from handsfree.dialogue.open_items import OpenItem, out_of_order
from handsfree.dialogue.turn import Turn
from handsfree.job.fault_kinds import FAULT_KINDS
from handsfree.job.job import Fact
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Subject
from handsfree.procedure.step import Task
from handsfree.visit_record.door_fault import DoorFault
from handsfree.visit_record.faults import latest_occurrence


def latest(turn: Turn, key: str) -> DoorFault:
    """The latest occurrence of a fault that was found. Raises KeyError for an unknown key."""
    life = latest_occurrence(turn.state.progress.faults, key)
    if life is None:
        raise KeyError(key)
    return life


def open_faults(turn: Turn) -> tuple[DoorFault, ...]:
    """The faults that are not repaired, or whose repair nobody described, latest first."""
    latest_of = {life.key: life for life in turn.state.progress.faults}
    latest_first = sorted(latest_of.values(), key=turn.state.progress.faults.index, reverse=True)
    return tuple(life for life in latest_first if life.open or life.unexplained)


def not_in_order(turn: Turn) -> tuple[OpenItem, ...]:
    """Everything in the visit that is not OK: readings, then open faults.

    A reading that failed remains a fault if its repetition could not be judged.
    """
    state = turn.state
    judged = out_of_order(turn.words, turn.job, state.limits, state.procedure)
    known = {item.key for item in judged}
    return (
        *judged,
        *(
            OpenItem(
                key=fault.key,
                kind="uncured" if fault.kind == "complaint" else "wrong",
                what=spoken(turn, fault),
                quantity=Quantity(fault.quantity) if fault.quantity else None,
            )
            for fault in reversed(open_faults(turn))
            if fault.key not in known
        ),
    )


def spoken(turn: Turn, fault: DoorFault) -> str:
    """The name of a fault as it is said: 'left leaf, arm loose'."""
    w = turn.words
    match fault.kind:
        case "complaint":
            return fault.name
        case "named":
            return named(turn, fault.name, Subject(fault.subject))
        case "measured":
            return f"{w.subject(fault.subject)}, {w.name('rule', fault.name)}"
    steps = turn.state.procedure.steps
    called = next((step.called for step in steps if step.fact == fault.name), None)
    return f"{w.subject(fault.subject)}, {called or fault.name.replace('_', ' ')}"


def as_found(turn: Turn, fault: DoorFault) -> str:
    """The name of a fault in a question: 'left leaf, swings freely, not OK'."""
    name = spoken(turn, fault)
    if fault.kind in ("named", "complaint"):
        return name
    return f"{name}, {turn.words.name('word', 'not_in_order')}"


def named(turn: Turn, name: str, subject: Subject) -> str:
    """The spoken name of a listed fault, with its place unless that is the whole opening."""
    said = turn.words.name("fault", name)
    return said if subject is Subject.OPENING else f"{turn.words.subject(subject)}, {said}"


def touched(turn: Turn, facts: Iterable[Fact]) -> tuple[DoorFault, ...]:
    """The faults that an answer 'OK' is about: those not proved fixed before it."""
    found = []
    for fact in facts:
        if fact.value != "in_order":
            continue
        for life in reversed(open_faults(turn)):
            if life not in found and _is_about(fact.subject, fact.name, life):
                found.append(life)
    return tuple(found)


def proof_task(turn: Turn, fault: DoorFault) -> Task | None:
    """The step whose answer proves the repair of a fault; None if no step of the visit does."""
    return next((task for task in turn.state.tasks if _proves(task, fault)), None)


def named_against(turn: Turn, check: Task) -> tuple[DoorFault, ...]:
    """The faults that were named, are still there, and speak against the good answer of a step."""
    return tuple(
        life
        for life in open_faults(turn)
        if life.kind == "named" and life.open and _proves(check, life)
    )


def _is_about(subject: Subject, observed: str, fault: DoorFault) -> bool:
    if fault.kind == "observed":
        return fault.key == f"{subject}/{observed}"
    if fault.kind != "named" or observed not in FAULT_KINDS[fault.name].proved_by:
        return False
    return subject in (fault.subject, Subject.OPENING)


def _proves(task: Task, fault: DoorFault) -> bool:
    step = task.step
    if fault.kind == "measured":
        return task.subject == fault.subject and step.quantity == fault.quantity is not None
    return step.waits == "observation" and _is_about(task.subject, step.fact or "", fault)
