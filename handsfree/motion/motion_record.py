"""Records of a measured leaf: cycles, times, angles and speeds with their uncertainties."""

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
"""Reason why a cycle is not judged. ``uneven speed`` means that the speed rose a second time in
one movement, or changed next to a ramp, as under a pushing hand.
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
    """The largest speed of a movement (degrees per second), and where and when it occurred.

    ``relative_uncertainty`` is its relative standard uncertainty.
    """

    speed_deg_s: float
    angle_deg: float
    at_s: float
    relative_uncertainty: float


class CycleMotion(Record):
    """One cycle of the leaf. Moments that were not reached are missing or None.

    ``backcheck`` is None if the leaf does not slow down before it is open. ``latch_speed_deg_s`` is
    the largest speed in its last two degrees. ``closure_deg`` is the error of the integral when the
    leaf was closed again.
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
    """The results of a log: its cycles.

    ``scale`` is the factor applied to the rates: 1 unless a known angle gave it.
    ``scale_uncertainty`` is its relative standard uncertainty. ``curve`` holds time (s), angle
    (degrees) and speed (degrees per second, closing negative), at most 50 points per second, for
    the picture.
    """

    rate_hz: float
    noise_deg_s: float
    bias_deg_s: float
    scale: float
    scale_uncertainty: float
    cycles: tuple[CycleMotion, ...]
    curve: tuple[tuple[float, float, float], ...] = ()
