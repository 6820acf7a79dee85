"""Records of a measured leaf: its cycles, times, angles and speeds, and their doubt."""

from __future__ import annotations

from typing import Literal

from handsfree.job.quantity import Quantity
from handsfree.job.record import Record
from handsfree.timing.cycle import Moment

Flag = Literal[
    "phone slipped",
    "uneven speed",
    "stopped on the way",
    "turned back",
    "did not close",
    "did not open",
]
"""Reason why a cycle is not judged. ``uneven speed`` is a speed that rises a second time in one
travel, as under a hand that pushes; the other names say what the leaf or the phone did.
"""


class PassedMoment(Record):
    """A moment of the cycle: its time in the log (s), the leaf's angle there (degrees), and the
    standard uncertainty of the time (s)."""

    moment: Moment
    at_s: float
    angle_deg: float
    uncertainty_s: float


class TimedSpan(Record):
    """One of the five times of a cycle (s), with its standard uncertainty (s)."""

    quantity: Quantity
    seconds: float
    uncertainty_s: float


class Angle(Record):
    """An angle from closed and its standard uncertainty (degrees)."""

    degrees: float
    uncertainty_deg: float


class TopSpeed(Record):
    """The largest speed of a travel (degrees a second), where and when it was.

    ``relative_uncertainty`` is its standard uncertainty as a share.
    """

    speed_deg_s: float
    angle_deg: float
    at_s: float
    relative_uncertainty: float


class CycleMotion(Record):
    """One cycle of the leaf. What was not reached is missing or None.

    ``backcheck`` is None where the leaf does not slow down before it is open. ``latch_speed_deg_s``
    is the speed with which it arrives: the largest in its last two degrees. ``closure_deg`` is how
    far the integral was off when the leaf was closed again.
    """

    begins_s: float
    ends_s: float
    moments: tuple[PassedMoment, ...] = ()
    times: tuple[TimedSpan, ...] = ()
    open_angle: Angle | None = None
    backcheck: Angle | None = None
    opening: TopSpeed | None = None
    closing: TopSpeed | None = None
    latch_speed_deg_s: float | None = None
    closure_deg: float = 0.0
    flags: tuple[Flag, ...] = ()

    def time(self, quantity: Quantity) -> TimedSpan | None:
        """The time of a quantity, None if one of its moments is missing."""
        return next((each for each in self.times if each.quantity is quantity), None)

    def moment(self, moment: Moment) -> PassedMoment | None:
        """The passing of a moment; None if the leaf did not pass it."""
        return next((each for each in self.moments if each.moment is moment), None)


class MeasuredMotion(Record):
    """A log as it was read, and its cycles.

    ``scale`` is the factor that the rates were multiplied with: 1 unless a known angle gave it.
    ``scale_uncertainty`` is its relative standard uncertainty. ``curve`` holds time (s), angle
    (degrees) and speed (degrees a second, closing negative), at most 50 a second, for the picture.
    """

    rate_hz: float
    noise_deg_s: float
    bias_deg_s: float
    scale: float
    scale_uncertainty: float
    cycles: tuple[CycleMotion, ...]
    curve: tuple[tuple[float, float, float], ...] = ()
