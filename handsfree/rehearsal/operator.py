"""Speeds, times and forces that result from a controller's settings.

Deliberately generic: the speed is linear in the setting (common practice: nearly so), with an
unknown gain and offset, and scatters from cycle to cycle.
"""

from __future__ import annotations

import math
from typing import Literal

from handsfree.job.record import Record

SettingName = Literal[
    "opening_speed",
    "backcheck_speed",
    "closing_speed",
    "latching_speed",
    "hold_open_setting",
    "opening_force",
    "closing_force",
    "backcheck_angle",
]
SETTING_NAMES: tuple[SettingName, ...] = (
    "opening_speed",
    "backcheck_speed",
    "closing_speed",
    "latching_speed",
    "hold_open_setting",
    "opening_force",
    "closing_force",
    "backcheck_angle",
)
BACKCHECK_DEG = (45, 85)
"""Range of angles at which backcheck can begin (degrees)."""


class LinearScale(Record):
    """Straight line ``offset`` + ``gain`` · setting, in degrees per second, seconds or newtons."""

    gain: float
    offset: float

    def at(self, setting: float) -> float:
        """Value of a setting."""
        return self.offset + self.gain * setting

    def setting_for(self, value: float) -> float:
        """Setting of a value, possibly between two steps of the scale."""
        return (value - self.offset) / self.gain


class Operator(Record):
    """The scale of a controller and the values of its settings.

    Speeds are in degrees per second, ``hold_open_setting`` in seconds, forces in newtons at the
    gauge before spring and friction. ``scatter`` is the relative standard deviation of a speed from
    cycle to cycle. Settings are whole numbers from ``low`` to ``high``; ``backcheck_angle`` is a
    whole number of degrees.
    """

    low: int = 1
    high: int = 20
    opening_speed: LinearScale = LinearScale(gain=1.6, offset=4.0)
    backcheck_speed: LinearScale = LinearScale(gain=0.7, offset=1.5)
    closing_speed: LinearScale = LinearScale(gain=1.5, offset=4.0)
    latching_speed: LinearScale = LinearScale(gain=0.8, offset=0.6)
    hold_open_setting: LinearScale = LinearScale(gain=1.0, offset=0.2)
    opening_force: LinearScale = LinearScale(gain=8.0, offset=20.0)
    closing_force: LinearScale = LinearScale(gain=5.0, offset=5.0)
    ramp_s: float = 0.3
    scatter: float = 0.01

    def value(self, name: SettingName, setting: float) -> float:
        """Value of a setting; never so slow that the leaf does not move."""
        if name == "backcheck_angle":
            return setting
        line: LinearScale = getattr(self, name)
        least = 1.0 if name.endswith("speed") else 0.0
        return max(least, line.at(setting))

    def in_scale(self, name: SettingName, setting: int) -> int:
        """The nearest setting on the scale."""
        low, high = BACKCHECK_DEG if name == "backcheck_angle" else (self.low, self.high)
        return min(high, max(low, setting))

    def setting_for(self, name: SettingName, value: float, *, up: bool) -> int:
        """The setting whose value is at least (``up``) or at most the given value."""
        line: LinearScale = getattr(self, name)
        exact = line.setting_for(value)
        return self.in_scale(name, math.ceil(exact) if up else math.floor(exact))
