"""The wording of a question for several values of a leaf, answered in one breath."""

from __future__ import annotations

from collections.abc import Sequence

from handsfree.job.quantity import SETTINGS, Quantity
from handsfree.job.reading import Subject
from handsfree.language.wording import Wording
from handsfree.procedure.step import Procedure, Step

SIZE = (Quantity.LEAF_WIDTH, Quantity.LEAF_HEIGHT)
"""Quantities that are said as one: 'thirty six by eighty four'."""
LISTED = (*SETTINGS, *SIZE)
"""Quantities that one question can ask for together. None of them is measured in motion."""


def question(
    w: Wording, procedure: Procedure, steps: Sequence[Step], subject: Subject, *, brief: bool
) -> str:
    """Words the question: 'As left, right leaf: opening speed, closing speed?'.

    An example follows unless ``brief``.
    """
    if steps[0].quantity in SIZE:
        name = "size_asked"
    else:
        name = "settings_found" if is_as_found(procedure, steps[0]) else "settings_left"
    items = ", ".join(w.quantity(step.quantity) for step in steps if step.quantity is not None)
    asked = w.say(name, subject=w.subject(subject), items=items)
    return asked if brief else f"{asked} {w.say(f'{name}_help')}"


def is_as_found(procedure: Procedure, step: Step) -> bool:
    """True for a setting that is read before the work and again after it."""
    ids = [s.id for s in procedure.steps if s.quantity is step.quantity]
    return len(ids) > 1 and ids[0] == step.id
