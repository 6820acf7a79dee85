"""Selects the steps of a procedure that a job needs, in the order of the walk."""

from __future__ import annotations

from itertools import groupby

from handsfree.job.job import Job, leaf_side
from handsfree.job.opening import Activation, Opening
from handsfree.job.quantity import Quantity
from handsfree.job.reading import LEAF_SUBJECT, Subject
from handsfree.language.wording import Wording, wording
from handsfree.procedure.condition import holds
from handsfree.procedure.step import ForEach, Procedure, Step, Task

_MOTOR = {1: Subject.MOTOR_ONE, 2: Subject.MOTOR_TWO}
_PLATES = (Subject.LEFT_PLATE, Subject.RIGHT_PLATE)
_PRESSED = (Activation.PUSH_PLATES, Activation.TOUCHLESS_SWITCH)
_SIDES = (Subject.NEAR_SIDE, Subject.FAR_SIDE)


def applies(step: Step, job: Job) -> bool:
    """True if every condition of the step holds for what is known of the opening."""
    return all(holds(condition, job) for condition in step.applies)


def tasks(procedure: Procedure, job: Job) -> tuple[Task, ...]:
    """All tasks of this job, in order.

    Consecutive steps of one stage that repeat for the same kind of subject are grouped: all of them
    for the left leaf, then all for the right, so that nobody walks back and forth for every value.
    """
    w = wording(job.sheet.language)
    needed = (step for step in procedure.steps if applies(step, job) and not _surveyed(step, job))
    walked: list[Task] = []
    for (_, for_each), group in groupby(needed, key=lambda step: (step.stage, step.for_each)):
        steps = tuple(group)
        for subject in subjects(for_each, job.opening):
            walked.extend(_task(w, step, subject, job.opening) for step in steps)
    return tuple(walked)


def subjects(for_each: ForEach, opening: Opening) -> tuple[Subject, ...]:
    """Subjects that a step repeats for: the leaves, motors, plates or sides that exist."""
    match for_each:
        case "leaf":
            return tuple(LEAF_SUBJECT[leaf.name] for leaf in opening.leaves)
        case "motor":
            return tuple(_MOTOR[motor.number] for motor in opening.motors)
        case "plate":
            return _PLATES if opening.activation in _PRESSED else ()
        case "side":
            return _SIDES
        case "opening":
            return (Subject.OPENING,)


def _surveyed(step: Step, job: Job) -> bool:
    """True if the survey at the start asks what the step asks."""
    return step.for_each == "opening" and step.fact in job.sheet.opening.not_known


def _task(w: Wording, step: Step, subject: Subject, opening: Opening) -> Task:
    spoken = w.subject(subject)
    prompt = step.prompt.format(subject=spoken)
    side = leaf_side(subject)
    leaf = opening.leaf(side) if side is not None else None
    if step.quantity is Quantity.OPENING_TIME and leaf is not None and leaf.backcheck_after_eighty:
        # It ends at backcheck or 80 degrees, whichever comes first.
        prompt = w.say("opening_to_eighty", subject=spoken)
    return Task(
        key=step.id if subject is Subject.OPENING else f"{step.id}:{subject}",
        step=step,
        subject=subject,
        prompt=prompt,
        brief=step.brief.format(subject=spoken),
    )
