"""Records of a leaf's cycle and of an obstacle in its way."""

from __future__ import annotations

from typing import Literal

from handsfree.job.record import Record
from handsfree.rehearsal.drive import Phase
from handsfree.rehearsal.leaf_body import Body

CycleEnd = Literal["shut", "did not open", "did not shut", "out of time"]


class Obstacle(Record):
    """An obstacle at an angle, in the way while the leaf opens or closes.

    ``stiffness_n_m`` and ``damping_n_s_m`` apply at the gauge. ``seen`` is true if a working sensor
    would detect it.
    """

    at_rad: float
    phase: Phase
    stiffness_n_m: float = 8000.0
    damping_n_s_m: float = 150.0
    seen: bool = False

    def push_nm(self, body: Body, phase: Phase, theta: float, omega: float) -> float:
        """Torque toward shut (N·m); never a pull."""
        if phase != self.phase:
            return 0.0
        sign = 1.0 if phase == "opening" else -1.0
        deep = sign * (theta - self.at_rad) * body.gauge_m
        if deep <= 0:
            return 0.0
        force = self.stiffness_n_m * deep + self.damping_n_s_m * sign * omega * body.gauge_m
        return sign * max(0.0, force) * body.gauge_m


class Cycle(Record):
    """Events of a cycle from the press of the plate to shut, in seconds from the press.

    A moment that was not reached is None. ``reopened`` counts reversals while closing.
    ``by_sensor`` is true if a sensor stopped or reversed the leaf. ``trace`` holds time and angle
    in degrees. ``push_n`` is the steady force on an obstacle, ``blow_n`` the peak force.
    """

    end: CycleEnd
    starts_s: float | None = None
    backcheck_s: float | None = None
    open_s: float | None = None
    closes_s: float | None = None
    ninety_s: float | None = None
    ten_s: float | None = None
    shut_s: float | None = None
    widest_deg: float = 0.0
    opening_peak_j: float = 0.0
    closing_peak_j: float = 0.0
    opening_peak_rad_s: float = 0.0
    closing_peak_rad_s: float = 0.0
    reopened: int = 0
    by_sensor: bool = False
    push_n: float = 0.0
    blow_n: float = 0.0
    trace: tuple[tuple[float, float], ...] = ()

    @property
    def opening_time_s(self) -> float | None:
        """Time from closed to backcheck or 80 degrees, whichever comes first (s)."""
        return _between(self.starts_s, self.backcheck_s)

    @property
    def total_opening_time_s(self) -> float | None:
        """Time from closed to fully open (s)."""
        return _between(self.starts_s, self.open_s)

    @property
    def hold_open_time_s(self) -> float | None:
        """Time from fully open to the start of closing (s)."""
        return _between(self.open_s, self.closes_s)

    @property
    def closing_time_s(self) -> float | None:
        """Time from 90 degrees, or from the start of closing, to 10 degrees (s)."""
        return _between(self.ninety_s, self.ten_s)

    @property
    def latching_time_s(self) -> float | None:
        """Time from 10 degrees to shut (s)."""
        return _between(self.ten_s, self.shut_s)


def _between(begin_s: float | None, end_s: float | None) -> float | None:
    return None if begin_s is None or end_s is None else end_s - begin_s
