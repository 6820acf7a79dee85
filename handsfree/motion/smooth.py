"""Smooths a rate with a triangular window, which never overshoots at a corner.

A least-squares parabola would preserve a sharp peak a little better, but it overshoots at the end
of a ramp, and a speed that never occurred would be judged.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def smoothed(values: Floats, step_s: float, window_s: float) -> Floats:
    """Smooths values, shape (n,); the window is ``window_s`` long and has at least 5 samples."""
    kernel = _kernel(step_s, window_s)
    half = len(kernel) // 2
    padded = np.concatenate((np.full(half, values[0]), values, np.full(half, values[-1])))
    out: Floats = np.convolve(padded, kernel, mode="valid")
    return out


def noise_gain(step_s: float, window_s: float) -> float:
    """Factor by which smoothing reduces the standard deviation of independent noise (0 to 1)."""
    return float(np.sqrt(np.sum(_kernel(step_s, window_s) ** 2)))


def _kernel(step_s: float, window_s: float) -> Floats:
    half = max(2, round(window_s / step_s / 2))
    kernel: Floats = np.bartlett(2 * half + 3)[1:-1]
    kernel /= kernel.sum()
    return kernel
