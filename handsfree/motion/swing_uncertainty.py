"""Standard uncertainties of the angles and moments of one swing of a leaf.

They combine independent components (GUM, JCGM 100:2008, 5.1.2):

- **noise** of the gyroscope, as it shows at rest: the angle walks by noise·√(step·time), tied down
  at both ends where the leaf is closed;
- **bias** between two rests (``BIAS_SD_RAD_S``, and the noise of the rests that it is taken from),
  tied down the same way;
- **scale**: 1 % of every angle and speed (common for phones, no published source) unless a known
  angle gave it, and then as far as that angle is known;
- **sampling**: a share of the step between two samples, and how late they come;
- **backcheck**: where the slowing down begins is read off a curve (``KNEE_SD_S``).

The uncertainty of a moment is that of the angle divided by the speed at that moment.
"""

from __future__ import annotations

import math

import numpy as np

from handsfree.motion.leaf_angle import BIAS_SD_RAD_S, REST_PIECE_S
from handsfree.motion.leaf_cycles import OPEN_WITHIN_DEG, PEAK_WINDOW_S, SHUT_DEG, Swing
from handsfree.motion.smooth import smoothed

SCALE_SD = 0.01
"""Relative standard uncertainty of a phone's gyroscope without a known angle."""
KNOWN_ANGLE_SD_DEG = 0.5
"""Standard uncertainty of an angle measured with a square (degrees)."""
KNEE_SD_S = 0.004
"""Standard uncertainty of the beginning of backcheck (s); see docs/motion.md for the
measurement.
"""
_SAMPLING_SHARE = 0.15


class SwingUncertainty:
    """Standard uncertainties of angles and crossings of one swing."""

    def __init__(self, swing: Swing, scale_sd: float) -> None:
        self._swing, self._scale_sd = swing, scale_sd
        averaged = swing.noise_deg_s * math.sqrt(swing.step_s / REST_PIECE_S)
        self._bias_deg_s = math.hypot(math.degrees(BIAS_SD_RAD_S), averaged)
        self._speed = np.abs(smoothed(swing.rate_deg_s, swing.step_s, PEAK_WINDOW_S / 2))

    def angle_deg(self, at_s: float, angle: float) -> float:
        """Standard uncertainty of an angle counted from closed (degrees)."""
        swing = self._swing
        all_s = float(swing.moving_s[-1])
        share = float(np.interp(at_s, swing.time_s, swing.moving_s)) / all_s
        free = share * (1 - share) if swing.closure_deg is not None else share
        walk = swing.noise_deg_s * math.sqrt(swing.step_s * all_s * free)
        bias = self._bias_deg_s * all_s * free
        return math.hypot(walk, bias, self._scale_sd * angle)

    def crossing_s(self, at_s: float, angle_sd_deg: float) -> float:
        """Standard uncertainty of the time at which the leaf passes an angle (s).

        Half the time that the leaf takes between the ends of the angle's uncertainty interval.
        """
        swing = self._swing
        nth = int(np.searchsorted(swing.time_s, at_s))
        opens = nth <= swing.top
        part = slice(0, swing.top + 1) if opens else slice(swing.top, len(swing.time_s))
        angle, time_s = swing.angle_deg[part], swing.time_s[part]
        way = np.maximum.accumulate(angle) if opens else np.maximum.accumulate(angle[::-1])[::-1]
        here = float(np.interp(at_s, time_s, angle))
        inside = (way > here - angle_sd_deg) & (way < here + angle_sd_deg)
        inside &= (way > SHUT_DEG / 2) & (way < swing.open_deg - OPEN_WITHIN_DEG / 2)
        spent_s = float(np.count_nonzero(inside)) * swing.step_s
        speed = float(np.interp(at_s, swing.time_s, self._speed))
        by_speed = angle_sd_deg / max(speed, 0.5)
        return math.hypot(min(by_speed, spent_s / 2), self.sampling_s())

    def sampling_s(self) -> float:
        """Part of a moment's uncertainty from sampling: the step and the delay of samples (s)."""
        return math.hypot(_SAMPLING_SHARE * self._swing.step_s, self._swing.jitter_s)

    def local_deg(self, span_deg: float) -> float:
        """Standard uncertainty of a small angle next to a rest (degrees)."""
        walk = self._swing.noise_deg_s * math.sqrt(self._swing.step_s * 0.4)
        return math.hypot(walk, self._bias_deg_s * 0.4, self._scale_sd * span_deg)
