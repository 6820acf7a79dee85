"""Hints spoken with a prompt: angles as distances, the hand to expect."""

from __future__ import annotations

from collections.abc import Collection

from handsfree.job.handing import MOTOR_NUMBER
from handsfree.job.job import leaf_side
from handsfree.job.opening import Opening
from handsfree.job.quantity import QUANTITIES
from handsfree.language.door_words import expectation, hand_view
from handsfree.language.tape_words import angle_out
from handsfree.language.visit_fact_words import fact_name
from handsfree.language.wording import Wording, sentence
from handsfree.procedure.step import Task


def prompt_help(w: Wording, task: Task, opening: Opening, noted: Collection[str] = ()) -> str:
    """One or two sentences that follow the full prompt of a task; '' if no help applies.

    ``noted`` holds the keys of the visit facts stated so far.
    """
    if task.step.visit_facts:
        told = {key.partition("/")[2] for key in noted}
        blank = [fact_name(w, name) for name in task.step.visit_facts if name not in told]
        return w.say("visit_fact_blank", names=w.listed(blank, "and")) if blank else ""
    if task.step.fact == "hand" and task.subject in MOTOR_NUMBER:
        return sentence(expectation(w, opening, task.subject) or hand_view(w, opening))
    side = leaf_side(task.subject)
    leaf = opening.leaf(side) if side is not None else None
    if task.step.quantity is None or leaf is None or leaf.width is None:
        return ""
    angles_deg = QUANTITIES[task.step.quantity].angles_deg
    return " ".join(angle_out(w, leaf.width, w.the(task.subject), each) for each in angles_deg)
