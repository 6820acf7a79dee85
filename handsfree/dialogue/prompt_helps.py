"""Help with the answer to a step: angles as distances, the hand to expect."""

from __future__ import annotations

from handsfree.job.handing import MOTOR_NUMBER
from handsfree.job.job import leaf_side
from handsfree.job.opening import Opening
from handsfree.job.quantity import QUANTITIES
from handsfree.language.door_words import expectation, hand_view
from handsfree.language.tape_words import angle_out
from handsfree.language.wording import Wording, sentence
from handsfree.procedure.step import Task


def prompt_help(w: Wording, task: Task, opening: Opening) -> str:
    """One or two sentences that go with the full prompt of a task; '' where there is no help."""
    if task.step.fact == "hand" and task.subject in MOTOR_NUMBER:
        return sentence(expectation(w, opening, task.subject) or hand_view(w, opening))
    side = leaf_side(task.subject)
    leaf = opening.leaf(side) if side is not None else None
    if task.step.quantity is None or leaf is None or leaf.width is None:
        return ""
    angles_deg = QUANTITIES[task.step.quantity].angles_deg
    return " ".join(angle_out(w, leaf.width, w.the(task.subject), each) for each in angles_deg)
