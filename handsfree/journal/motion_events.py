"""The event for a leaf measured by a sensor."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from handsfree.errors import LogFault
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Subject
from handsfree.job.record import Count, Number, Record
from handsfree.journal.event_body import Reported


class MeasuredTime(Record):
    """A time of the cycle and its standard uncertainty (s)."""

    quantity: Quantity
    seconds: Number
    uncertainty_s: Number


class MeasuredAngle(Record):
    """An angle from closed and its standard uncertainty (degrees)."""

    degrees: Number
    uncertainty_deg: Number


class MeasuredSpeed(Record):
    """The largest speed of a movement (degrees per second), and its position (degrees from
    closed).

    ``share`` is its relative standard uncertainty. ``energy_j`` and its standard uncertainty (J)
    are computed from the leaf as known then; None if its width or weight was unknown.
    """

    travel: Literal["opening", "closing"]
    deg_s: Number
    at_deg: Number
    share: Number
    energy_j: Number | None = None
    energy_uncertainty_j: Number | None = None


class MeasuredCycle(Record):
    """One cycle of a log: its times, angles and speeds. ``flags`` say why it is not judged."""

    flags: tuple[str, ...] = ()
    times: tuple[MeasuredTime, ...] = ()
    open_angle: MeasuredAngle | None = None
    backcheck: MeasuredAngle | None = None
    speeds: tuple[MeasuredSpeed, ...] = ()


class LeafMeasured(Reported):
    """A log of rotation rates was read: its results, or why it cannot be used.

    ``log`` is the file below motion/, ``log_sha256`` its hash; both are None if there was no new
    log. ``problem`` is one plain sentence, '' for a readable log, and ``fault`` its code.
    ``known_angle_deg`` is the stated fully open angle, to which the rates were scaled (by
    ``scale``). ``cycles`` is the number of cycles in the log; flags, times, angles and speeds are
    those of the first one, ``further`` holds the others. With too many cycles all of these are
    empty.
    """

    kind: Literal["leaf_measured"] = "leaf_measured"
    leaf: Subject
    log: str | None = None
    log_sha256: str | None = None
    problem: str = ""
    fault: LogFault | None = Field(default=None, exclude_if=lambda fault: fault is None)
    known_angle_deg: Number | None = Field(default=None, exclude_if=lambda angle: angle is None)
    scale: Number | None = Field(default=None, exclude_if=lambda scale: scale is None)
    cycles: Count = 0
    flags: tuple[str, ...] = ()
    times: tuple[MeasuredTime, ...] = ()
    open_angle: MeasuredAngle | None = None
    backcheck: MeasuredAngle | None = None
    speeds: tuple[MeasuredSpeed, ...] = ()
    further: tuple[MeasuredCycle, ...] = Field(default=(), exclude_if=lambda further: not further)

    @property
    def measured(self) -> tuple[MeasuredCycle, ...]:
        """The usable cycles, in order."""
        first = MeasuredCycle(
            flags=self.flags,
            times=self.times,
            open_angle=self.open_angle,
            backcheck=self.backcheck,
            speeds=self.speeds,
        )
        return (first, *self.further) if self.times or self.flags else ()
