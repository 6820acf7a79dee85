"""A reading: one value for one subject, as it was spoken."""

from __future__ import annotations

from enum import StrEnum
from typing import Literal

from pydantic import Field

from handsfree.job.opening import Side
from handsfree.job.quantity import QUANTITIES, Quantity
from handsfree.job.record import Count, Number, Record
from handsfree.job.unit import Measure, Unit


class Subject(StrEnum):
    """The subject of a reading or a fact; the value is its spoken name."""

    OPENING = "opening"
    LEFT_LEAF = "left leaf"
    RIGHT_LEAF = "right leaf"
    BOTH_LEAVES = "both leaves"
    MOTOR_ONE = "motor one"
    MOTOR_TWO = "motor two"
    LEFT_PLATE = "left plate"
    RIGHT_PLATE = "right plate"
    NEAR_SIDE = "near side"
    FAR_SIDE = "far side"


LEAF_SUBJECT = {Side.LEFT: Subject.LEFT_LEAF, Side.RIGHT: Subject.RIGHT_LEAF}
"""The leaf on each side, as a subject."""
LEAF_SIDE = {subject: side for side, subject in LEAF_SUBJECT.items()}
LEAF_SUBJECTS = tuple(LEAF_SIDE)


class Taken(StrEnum):
    """The way a reading was taken; its measurement uncertainty depends on this.

    ``OWN_BUTTON``: by a clock that the person's own press of the door's button started, so that
    only its stop is late. ``SENSOR``: from a log of a sensor on the leaf, which states its own
    uncertainty.
    """

    SAID = "said"
    TYPED = "typed"
    STOPWATCH = "stopwatch"
    OWN_BUTTON = "own_button"
    BY_EAR = "by_ear"
    GAUGE = "gauge"
    SENSOR = "sensor"


SecondEar = Literal["agreed", "chosen"]
"""The second recognizer's result: it agreed, or it heard another value and the technician chose
between the two.
"""


class LargestSpeed(Record):
    """The largest speed of a leaf during a timed movement, measured by a sensor on it.

    ``deg_s`` is the speed (degrees per second), ``at_deg`` the angle from closed (degrees),
    ``share`` the relative standard uncertainty of the speed.
    """

    deg_s: Number
    at_deg: Number
    share: Number


class Reading(Record):
    """One accepted value.

    ``attempt`` counts from 1 and rises after an adjustment: the first attempt is 'as found', the
    last 'as left'. ``run`` counts from 1 within an attempt. ``clip`` names the sound file in which
    it was heard. ``marks_s`` is the standard uncertainty (s) of the two marks of a time by ear, to
    which the person's is added; for a time by a sensor it is the total. ``angle_sd_deg`` is that of
    an angle by a sensor (degrees). ``second_ear`` is None
    without a second recognizer, or if it heard no value. ``log`` names the log of the sensor,
    ``largest_speed`` is the largest speed of this movement in it. ``known`` is True if the value
    was known before, or is that of the other leaf, and was confirmed.
    """

    id: str
    quantity: Quantity
    subject: Subject
    value: Number
    unit: Unit
    taken: Taken
    attempt: Count = 1
    run: Count = 1
    clip: str | None = None
    marks_s: Number | None = None
    angle_sd_deg: Number | None = Field(default=None, exclude_if=lambda sd: sd is None)
    second_ear: SecondEar | None = None
    log: str | None = Field(default=None, exclude_if=lambda log: log is None)
    largest_speed: LargestSpeed | None = Field(default=None, exclude_if=lambda speed: speed is None)
    known: bool = Field(default=False, exclude_if=lambda known: not known)

    @property
    def measure(self) -> Measure:
        """The value with its unit."""
        return Measure(value=self.value, unit=self.unit)

    def plausible(self) -> bool:
        """True if the value lies in the plausible range of its quantity."""
        return QUANTITIES[self.quantity].plausible(self.measure)
