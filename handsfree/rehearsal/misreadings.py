"""Finds the readings in a rehearsal that contradict the door."""

from __future__ import annotations

from handsfree.job.job import Job
from handsfree.job.quantity import Quantity
from handsfree.job.reading import LEAF_SIDE, Reading
from handsfree.job.record import Record
from handsfree.job.unit import Measure, Unit, family_of, in_base_unit
from handsfree.rehearsal.door_spec import DoorSpec
from handsfree.rehearsal.measurements import MeasuringTools
from handsfree.rehearsal.outcome import true_cycle

TIME_WITHIN_S = 0.5
"""Largest difference of a time that may be chance (s): five standard deviations of a person's
stopwatch.
"""
_SHARE = 0.03


class Misreading(Record):
    """A reading that contradicts the door; ``truth`` is the true value in words."""

    reading: str
    truth: str


def misreadings_in(job: Job, spec: DoorSpec, hands: MeasuringTools) -> tuple[Misreading, ...]:
    """Lists the readings that differ too much from the door's state at the latest measurement."""
    found = []
    for reading in job.readings:
        truth = _truth(reading, spec, hands)
        if truth is not None and not _near(reading, truth):
            said = f"{reading.subject}, {reading.quantity.replace('_', ' ')}: {reading.measure}"
            found.append(Misreading(reading=said, truth=str(truth)))
    return tuple(found)


def _truth(reading: Reading, spec: DoorSpec, hands: MeasuringTools) -> Measure | None:
    side = LEAF_SIDE.get(reading.subject)
    leaf = spec.leaves.get(side) if side is not None else None
    match reading.quantity:
        case Quantity.LEAF_WIDTH:
            return leaf.width if leaf else None
        case Quantity.LEAF_HEIGHT:
            return leaf.height if leaf else None
        case Quantity.LEAF_WEIGHT:
            return leaf.weight if leaf else None
        case Quantity.PLATE_HEIGHT:
            return spec.plate_height.get(reading.subject)
        case Quantity.PLATE_DISTANCE:
            return spec.plate_distance.get(reading.subject)
        case Quantity.SIGN_HEIGHT:
            return spec.sign_height.get(reading.subject)
    then = hands.measured.get((reading.quantity, reading.subject))
    if then is None or not reading.quantity.endswith("time"):
        return None
    seconds = getattr(true_cycle(*then), f"{reading.quantity}_s", None)
    if seconds is None:
        return None
    return Measure(value=f"{seconds:.2f}", unit=Unit.SECOND)


def _near(reading: Reading, truth: Measure) -> bool:
    if family_of(reading.unit) is not family_of(truth.unit):
        return False
    said, true = in_base_unit(reading.value, reading.unit), truth.in_base_unit()
    if truth.unit is Unit.SECOND:
        return abs(said - true) <= TIME_WITHIN_S
    return abs(said - true) <= _SHARE * abs(true)
