"""Band powers of a sound, frame by frame, and statistics of the noise before it."""

from __future__ import annotations

import itertools

import numpy as np
from numpy.typing import NDArray

from handsfree.sample_rate import SAMPLE_RATE_HZ

Floats = NDArray[np.float64]

HOP, WINDOW = 64, 128
"""Samples between frames and in a frame: 4 ms and 8 ms."""
FRAME_S = HOP / SAMPLE_RATE_HZ
EDGES = (1, 2, 3, 4, 5, 6, 8, 10, 13, 16, 20, 25, 31, 38, 46, 55, 64)
"""Band edges in spectral lines of 125 Hz. Below them are hum, wind and footsteps."""
USUAL_QUANTILE = 0.95
"""Quantile of noise frames that counts as the usual maximum."""

_LEAST_POWER = (
    1e-11  # a twentieth of 16-bit rounding noise, so that digital silence has a floor too
)
_TAPER = np.hanning(WINDOW + 2)[1:-1]
_SHARES = np.diff(EDGES) / (WINDOW / 2)


def band_powers(samples: Floats) -> Floats:
    """Mean power of each band (columns) in each whole frame (rows) of sound from -1 to 1."""
    if len(samples) < WINDOW:
        return np.zeros((0, len(_SHARES)))
    frames = np.lib.stride_tricks.sliding_window_view(samples, WINDOW)[::HOP]
    spectrum = np.abs(np.fft.rfft(frames * _TAPER, axis=1)) ** 2 / np.sum(_TAPER**2)
    bands = [spectrum[:, low:high].mean(axis=1) for low, high in itertools.pairwise(EDGES)]
    return np.stack(bands, axis=1) + _LEAST_POWER


def mean_square(powers: Floats) -> Floats:
    """Mean square of the sound in each frame, without the part below the bands."""
    return np.asarray(powers @ _SHARES)


def in_pairs(power: Floats) -> Floats:
    """Mean of each frame and the next: 12 ms of sound."""
    return np.asarray((power + np.append(power[1:], power[-1:])) / 2)


def end_of(sounds: NDArray[np.bool_], silent: int) -> int | None:
    """First frame of the first ``silent`` silent frames in a row; None if there are none yet."""
    quiet = 0
    for nth, each in enumerate(sounds):
        quiet = 0 if each else quiet + 1
        if quiet >= silent:
            return nth - quiet + 1
    return None


def unbroken_from(sounds: NDArray[np.bool_]) -> int:
    """First frame of the unbroken sound at the end; the frame count if it ends silent."""
    silent = np.flatnonzero(~sounds)
    return int(silent[-1]) + 1 if len(silent) else 0


def noise_of(powers: Floats) -> tuple[Floats, Floats]:
    """Per-band mean power and 95th percentile of noise-only frames.

    The mean is derived from the median, which a tap hardly affects: the median of an exponential
    distribution is its mean times the logarithm of two.
    """
    return np.median(powers, axis=0) / np.log(2), np.quantile(powers, USUAL_QUANTILE, axis=0)
