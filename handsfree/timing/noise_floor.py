"""The power of a sound in bands, frame by frame, and what the noise before it is like."""

from __future__ import annotations

import itertools

import numpy as np
from numpy.typing import NDArray

from handsfree.sample_rate import SAMPLE_RATE_HZ

Floats = NDArray[np.float64]

HOP, WINDOW = 64, 128
"""Samples from frame to frame and in one: 4 ms and 8 ms."""
FRAME_S = HOP / SAMPLE_RATE_HZ
EDGES = (1, 2, 3, 4, 5, 6, 8, 10, 13, 16, 20, 25, 31, 38, 46, 55, 64)
"""Of the bands, in lines of the spectrum: 125 Hz each. Below lie hum, wind and footsteps."""
USUAL = 0.95
"""The share of the frames of a noise that stay below what is usual in it."""

_LEAST_POWER = 1e-11  # a twentieth of 16-bit rounding noise: digital silence has a floor too
_TAPER = np.hanning(WINDOW + 2)[1:-1]
_SHARES = np.diff(EDGES) / (WINDOW / 2)


def band_powers(samples: Floats) -> Floats:
    """Mean power of each band (columns) in each whole frame (rows) of sound in -1 to 1."""
    if len(samples) < WINDOW:
        return np.zeros((0, len(_SHARES)))
    frames = np.lib.stride_tricks.sliding_window_view(samples, WINDOW)[::HOP]
    spectrum = np.abs(np.fft.rfft(frames * _TAPER, axis=1)) ** 2 / np.sum(_TAPER**2)
    bands = [spectrum[:, low:high].mean(axis=1) for low, high in itertools.pairwise(EDGES)]
    return np.stack(bands, axis=1) + _LEAST_POWER


def mean_square(powers: Floats) -> Floats:
    """The mean square of the sound in each frame, without what lies below the bands."""
    return np.asarray(powers @ _SHARES)


def in_pairs(power: Floats) -> Floats:
    """The mean of each frame and the next: of 12 ms."""
    return np.asarray((power + np.append(power[1:], power[-1:])) / 2)


def end_of(sounds: NDArray[np.bool_], silent: int) -> int | None:
    """The frame at which it ends: so many are silent from there on. None where it does not yet."""
    quiet = 0
    for nth, each in enumerate(sounds):
        quiet = 0 if each else quiet + 1
        if quiet >= silent:
            return nth - quiet + 1
    return None


def unbroken_from(sounds: NDArray[np.bool_]) -> int:
    """The frame from which on it sounds to the end; their number where it does not at the end."""
    silent = np.flatnonzero(~sounds)
    return int(silent[-1]) + 1 if len(silent) else 0


def noise_of(powers: Floats) -> tuple[Floats, Floats]:
    """Of frames of nothing but noise: the mean power of each band, and what is usual in it.

    The mean is taken from the median, which a tap more or less moves little: that of the
    exponential distribution is its mean times the logarithm of two.
    """
    return np.median(powers, axis=0) / np.log(2), np.quantile(powers, USUAL, axis=0)
