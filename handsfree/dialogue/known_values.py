"""Values known before they are asked for: from the job file, or from the last visit."""

from __future__ import annotations

from handsfree.dialogue.state import State
from handsfree.job.handing import MOTOR_NUMBER, new_contradictions
from handsfree.job.job import Fact, Job, leaf_side
from handsfree.job.opening import Leaf, Opening
from handsfree.job.quantity import QUANTITIES, SETTINGS, Quantity
from handsfree.job.reading import Subject
from handsfree.job.unit import Measure
from handsfree.procedure.step import Task

_STAYS = (
    *(Quantity.LEAF_WIDTH, Quantity.LEAF_HEIGHT, Quantity.LEAF_WEIGHT),
    *(Quantity.PLATE_HEIGHT, Quantity.PLATE_DISTANCE, Quantity.SIGN_HEIGHT),
    *SETTINGS,
)
"""Quantities that stay the same from visit to visit unless somebody changes them."""
_SIZES = {
    Quantity.LEAF_WIDTH: "width",
    Quantity.LEAF_HEIGHT: "height",
    Quantity.LEAF_WEIGHT: "weight",
}


def known_measure(state: State, task: Task) -> Measure | None:
    """The known value of a reading; None if it has to be measured.

    A setting that was read in this visit is known when it is asked for as left. An unusual value is
    asked for again.
    """
    quantity, job = task.step.quantity, state.progress.job
    if task.step.waits != "reading" or quantity is None:
        return None
    found = job.latest(quantity, task.subject) if quantity in SETTINGS else None
    known = found.measure if found is not None else None
    known = known or _of_leaf(job, quantity, task.subject) or _measured_last(state, quantity, task)
    if known is None or not QUANTITIES[quantity].plausible(known):
        return None
    return known


def known_fact(state: State, task: Task) -> Fact | None:
    """The known answer to a choice; None if it has to be asked for."""
    name, job = task.step.fact, state.progress.job
    if task.step.waits != "choice" or name is None:
        return None
    value = _of_opening(job.opening, task.subject, name) or _chosen_last(job, task.subject, name)
    if value not in [option.value for option in task.step.options]:
        return None
    fact = Fact(subject=task.subject, name=name, value=value)
    return None if new_contradictions(job.opening, job.with_fact(fact).opening) else fact


def _leaf(opening: Opening, subject: Subject) -> Leaf | None:
    side = leaf_side(subject)
    return opening.leaf(side) if side is not None else None


def _of_leaf(job: Job, quantity: Quantity, subject: Subject) -> Measure | None:
    leaf = _leaf(job.opening, subject)
    if leaf is None or quantity not in _SIZES:
        return None
    size: Measure | None = getattr(leaf, _SIZES[quantity])
    return size


def _measured_last(state: State, quantity: Quantity, task: Task) -> Measure | None:
    last = state.progress.job.sheet.last_visit
    if last is None or quantity not in _STAYS:
        return None
    if quantity in SETTINGS and not _as_found(state, task):
        return None
    return last.value(quantity, task.subject)


def _as_found(state: State, task: Task) -> bool:
    """True for a setting that is read before the work and again after it."""
    ids = [s.id for s in state.procedure.steps if s.quantity is task.step.quantity]
    return len(ids) > 1 and ids[0] == task.step.id


def _of_opening(opening: Opening, subject: Subject, name: str) -> str | None:
    about: object = opening
    if subject in MOTOR_NUMBER:
        about = opening.motor(MOTOR_NUMBER[subject])
    elif leaf_side(subject) is not None:
        about = _leaf(opening, subject)
    elif name in opening.not_known:
        return None
    value = getattr(about, name, None)
    return value if isinstance(value, str) else None


def _chosen_last(job: Job, subject: Subject, name: str) -> str | None:
    last = job.sheet.last_visit
    facts = last.facts if last is not None else ()
    return next((f.value for f in facts if (f.subject, f.name) == (subject, name)), None)
