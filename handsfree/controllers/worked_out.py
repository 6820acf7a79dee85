"""Works a guide out for one door: every entry with its value and the reason for it."""

from __future__ import annotations

from typing import Literal

from handsfree.controllers.door_kinds import completed, holds, kinds_of_door
from handsfree.controllers.guide import Guide, Seen, SetUpStep, Value
from handsfree.job.job import Job
from handsfree.job.record import Record

State = Literal["action", "set", "unknown", "missing"]


class WorkedOut(Record):
    """A step of the set-up for a door.

    ``state`` is 'action' for a step without a value, 'set' with its ``value``, 'unknown' if the
    condition ``asks`` has to be answered first, 'missing' if the guide has no value.
    """

    step: SetUpStep
    state: State
    value: Value | None = None
    asks: str | None = None

    @property
    def seen(self) -> Seen:
        """The display or light after the step: that of its value, otherwise that of the step."""
        if self.value is not None and self.value.mark is not None:
            return self.value
        return self.step


def set_up_of(guide: Guide, job: Job) -> tuple[WorkedOut, ...]:
    """The steps that apply to the door, in order."""
    found: list[WorkedOut] = []
    for step in guide.set_up:
        held = {condition: holds(condition, job) for condition in step.applies}
        if False in held.values():
            continue
        unsure = next((condition for condition, is_so in held.items() if is_so is None), None)
        if unsure is not None:
            found.append(WorkedOut(step=step, state="unknown", asks=unsure))
        else:
            found.append(_value(step, job))
    return tuple(found)


def _value(step: SetUpStep, job: Job) -> WorkedOut:
    if not step.value:
        return WorkedOut(step=step, state="action")
    for value in step.value:
        held = [holds(condition, job) for condition in value.when]
        if all(held):
            return WorkedOut(step=step, state="set", value=value)
        if False not in held:
            unsure = next(c for c, is_so in zip(value.when, held, strict=True) if is_so is None)
            return WorkedOut(step=step, state="unknown", asks=unsure)
    return WorkedOut(step=step, state="missing")


def left_open(step: SetUpStep) -> Job | None:
    """A kind of door for which an applicable step has no value, or None."""
    if not step.value:
        return None
    for kind in kinds_of_door(step.conditions):
        if _is_open(step, kind):
            return kind
    return None


def open_cases(guide: Guide, job: Job) -> tuple[SetUpStep, ...]:
    """The steps that may lack a value for this door, judged by what is known before the visit."""
    doors = tuple(completed(job))
    return tuple(step for step in guide.set_up if any(_is_open(step, door) for door in doors))


def _is_open(step: SetUpStep, door: Job) -> bool:
    applies = all(holds(condition, door) for condition in step.applies)
    return bool(step.value) and applies and _value(step, door).state == "missing"
