"""Values known before they are asked for: from the job file, the last visit, or the other leaf."""

from __future__ import annotations

from handsfree.dialogue.state import State
from handsfree.job.handing import MOTOR_NUMBER, new_contradictions
from handsfree.job.job import Fact, Job, leaf_side
from handsfree.job.opening import Leaf, Opening, Swing
from handsfree.job.quantity import QUANTITIES, SETTINGS, Quantity
from handsfree.job.reading import LEAF_SUBJECTS, Subject
from handsfree.job.unit import Measure
from handsfree.procedure.listed_question import is_as_found
from handsfree.procedure.step import Task

_STAYS = (
    *(Quantity.LEAF_WIDTH, Quantity.LEAF_HEIGHT, Quantity.LEAF_WEIGHT),
    *(Quantity.PLATE_HEIGHT, Quantity.PLATE_DISTANCE, Quantity.SIGN_HEIGHT),
    *SETTINGS,
)
"""Quantities that stay the same from visit to visit unless somebody changes them."""
_WEIGHT_SOURCE, _ACTION = "weight_source", "action"
_SIZES = {
    Quantity.LEAF_WIDTH: "width",
    Quantity.LEAF_HEIGHT: "height",
    Quantity.LEAF_WEIGHT: "weight",
}


def known_measure(state: State, task: Task) -> Measure | None:
    """The known value of a reading; None if it has to be measured.

    A setting that was read in this visit is known when it is asked for as left. The sizes of a leaf
    are those of the other leaf if nothing else tells them. An unusual value is asked for again.
    """
    return _own_measure(state, task) or _measure_of_other(state.progress.job, task)


def known_fact(state: State, task: Task) -> Fact | None:
    """The known answer to a choice; None if it has to be asked for."""
    return _own_fact(state, task) or _fact_of_other(state.progress.job, task)


def is_of_other_leaf(state: State, task: Task) -> bool:
    """True if the known value of a task is that of the other leaf, filed in this visit."""
    own = _own_measure(state, task) or _own_fact(state, task)
    job = state.progress.job
    return own is None and bool(_measure_of_other(job, task) or _fact_of_other(job, task))


def _measure_of_other(job: Job, task: Task) -> Measure | None:
    other = _other_leaf(job, task.subject)
    if task.step.waits != "reading" or other is None or task.step.quantity not in _SIZES:
        return None
    filed = job.latest(task.step.quantity, other)
    if filed is None or not QUANTITIES[filed.quantity].plausible(filed.measure):
        return None
    return filed.measure


def _fact_of_other(job: Job, task: Task) -> Fact | None:
    """Where the weight comes from, and push or pull where both leaves swing the same way.

    Nothing else is alike on both leaves as a rule.
    """
    name, other = task.step.fact, _other_leaf(job, task.subject)
    if task.step.waits != "choice" or name is None or other is None:
        return None
    if name == _WEIGHT_SOURCE:
        alike = job.latest(Quantity.LEAF_WEIGHT, other) is not None
    else:
        alike = name == _ACTION and job.opening.swing is Swing.SAME_WAY
    value = job.fact(other, name) if alike else None
    if value is None or value not in [option.value for option in task.step.options]:
        return None
    fact = Fact(subject=task.subject, name=name, value=value)
    return None if new_contradictions(job.opening, job.with_fact(fact).opening) else fact


def _other_leaf(job: Job, subject: Subject) -> Subject | None:
    """The other leaf of a pair; None for any other subject."""
    others = [leaf for leaf in LEAF_SUBJECTS if leaf is not subject and _leaf(job.opening, leaf)]
    return others[0] if subject in LEAF_SUBJECTS and others else None


def _own_measure(state: State, task: Task) -> Measure | None:
    quantity, job = task.step.quantity, state.progress.job
    if task.step.waits != "reading" or quantity is None:
        return None
    found = job.latest(quantity, task.subject) if quantity in SETTINGS else None
    known = found.measure if found is not None else None
    known = known or _of_leaf(job, quantity, task.subject) or _measured_last(state, quantity, task)
    if known is None or not QUANTITIES[quantity].plausible(known):
        return None
    return known


def _own_fact(state: State, task: Task) -> Fact | None:
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
    if quantity in SETTINGS and not is_as_found(state.procedure, task.step):
        return None
    return last.value(quantity, task.subject)


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
