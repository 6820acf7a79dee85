"""Selects the steps of a procedure that a job needs, in the order of the walk."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from itertools import groupby

from handsfree.job.job import Job, leaf_side
from handsfree.job.opening import Activation, Opening
from handsfree.job.quantity import Quantity
from handsfree.job.reading import LEAF_SUBJECT, Subject
from handsfree.language.wording import wording
from handsfree.procedure.condition import holds
from handsfree.procedure.step import ForEach, Procedure, Step, Task

_MOTOR = {1: Subject.MOTOR_ONE, 2: Subject.MOTOR_TWO}
_PLATES = (Subject.LEFT_PLATE, Subject.RIGHT_PLATE)
_PRESSED = (Activation.PUSH_PLATES, Activation.TOUCHLESS_SWITCH)
_SIDES = (Subject.NEAR_SIDE, Subject.FAR_SIDE)


def applies(step: Step, job: Job) -> bool:
    """True if every condition of the step holds for the known facts about the opening."""
    return all(holds(condition, job) for condition in step.applies)


def tasks(
    procedure: Procedure, job: Job, branches: Mapping[str, str] | None = None
) -> tuple[Task, ...]:
    """All tasks of this job, in order.

    Consecutive steps of one stage that repeat for the same kind of subject are grouped: all of them
    for the left leaf, then all for the right, so that nobody walks back and forth for every value.
    ``branches`` are those entered so far, each with the key of the task that it follows.
    """
    walked = _walk(procedure, job, None, None)
    for branch, after in (branches or {}).items():
        found = next((nth for nth, task in enumerate(walked, 1) if task.key == after), None)
        if found is not None:  # the task that led to it may no longer apply
            walked[found:found] = branch_tasks(procedure, job, branch, walked[found - 1])
    return tuple(walked)


def branch_tasks(procedure: Procedure, job: Job, branch: str, after: Task) -> list[Task]:
    """The tasks of a branch; if ``after`` is about a leaf, only tasks about that leaf."""
    return _walk(procedure, job, branch, after)


def _walk(procedure: Procedure, job: Job, branch: str | None, after: Task | None) -> list[Task]:
    needed = [
        step
        for step in procedure.steps
        if step.branch == branch and applies(step, job) and not _surveyed(step, job)
    ]
    walked: list[Task] = []
    for (_, for_each), group in groupby(needed, key=lambda step: (step.stage, step.for_each)):
        steps = tuple(group)
        about: Iterable[Subject] = subjects(for_each, job.opening)
        if after is not None and after.step.for_each == for_each:
            about = (after.subject,)
        for subject in about:
            asked = (step for step in steps if not _in_job_file(step, subject, job))
            walked.extend(_task(step, subject, job) for step in asked)
    return walked


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
    """True if the survey at the start asks the same thing as the step."""
    return step.for_each == "opening" and step.fact in job.sheet.opening.not_known


def _in_job_file(step: Step, subject: Subject, job: Job) -> bool:
    """True if the job file states the leaf feature that the step asks for."""
    side = leaf_side(subject)
    leaf = job.sheet.opening.leaf(side) if side is not None else None
    return leaf is not None and step.waits == "choice" and step.fact in leaf.features


def _task(step: Step, subject: Subject, job: Job) -> Task:
    w, opening = wording(job.sheet.language), job.opening
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
