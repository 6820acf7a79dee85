"""Motions known in closed form, as logs of a perfect gyroscope."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from handsfree.motion.rotation_log import RotationLog

Floats = NDArray[np.float64]
REST_S = 2.0
AXIS = np.array([0.36, -0.48, 0.8])


def log_of_angles(
    angle_deg: Callable[[Floats], Floats],
    seconds: float,
    *,
    rate_hz: float = 200.0,
    noise_deg_s: float = 0.0,
    bias_deg_s: float = 0.0,
    seed: int = 1,
) -> RotationLog:
    """Rates about one slanted axis, such that their sum over each step is the angle's change."""
    time_s = np.arange(0.0, seconds, 1 / rate_hz)
    fine = angle_deg(time_s + 0.5 / rate_hz) - angle_deg(time_s - 0.5 / rate_hz)
    rate = np.radians(fine) * rate_hz
    random = np.random.default_rng(seed)
    noise = np.radians(random.normal(0.0, noise_deg_s or 1e-6, (len(time_s), 3)))
    rates = np.outer(rate, AXIS) + noise + np.radians(bias_deg_s) * np.array([1.0, -0.5, 0.3])
    return RotationLog(time_s, rates)


def even(
    open_deg: float, opening_s: float, hold_s: float, closing_s: float
) -> Callable[[Floats], Floats]:
    """Opens and closes at constant speed."""
    corners = np.cumsum([REST_S, opening_s, hold_s, closing_s])

    def angle(time_s: Floats) -> Floats:
        return np.interp(time_s, corners, [0.0, open_deg, open_deg, 0.0])

    return angle


def raised_cosine(
    open_deg: float, opening_s: float, hold_s: float, closing_s: float
) -> Callable[[Floats], Floats]:
    """Opens and closes as half a cosine: peak speed is pi/2 times the mean."""
    opens, opened, closes, closed = np.cumsum([REST_S, opening_s, hold_s, closing_s])

    def angle(time_s: Floats) -> Floats:
        up = np.clip((time_s - opens) / (opened - opens), 0, 1)
        down = np.clip((time_s - closes) / (closed - closes), 0, 1)
        out: Floats = open_deg / 2 * (np.cos(math.pi * down) - np.cos(math.pi * up))
        return out

    return angle
