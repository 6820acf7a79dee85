"""What the noise is like just now: its power in each band, and how far it fluctuates."""

from __future__ import annotations

import itertools

import numpy as np
from numpy.typing import NDArray

from handsfree.timing.mark import SAMPLE_RATE

Floats = NDArray[np.float64]

HOP, WINDOW = 32, 128
"""Samples from frame to frame and in one: 2 ms and 8 ms."""
FRAME_S = HOP / SAMPLE_RATE
SMOOTH = 5
"""Frames that a level is the mean of: 10 ms."""
BAND_EDGES_HZ = (90, 250, 500, 1000, 2000, 3000, 4500, 6000, 7800)
"""Below lie hum, wind and footsteps."""

_MEMORY = round(4.0 / FRAME_S)
_LONG_MEMORY = round(10.0 / FRAME_S)
_LEAST_POWER = 1e-11  # a twentieth of 16-bit rounding noise: digital silence has a floor too
_TAPER = np.hanning(WINDOW + 2)[1:-1]
_BINS_HZ = np.fft.rfftfreq(WINDOW, 1 / SAMPLE_RATE)
_BANDS = [(low <= _BINS_HZ) & (high > _BINS_HZ) for low, high in itertools.pairwise(BAND_EDGES_HZ)]
_SHARES = np.array([band.sum() / (WINDOW / 2) for band in _BANDS])


def band_powers(samples: Floats) -> Floats:
    """Mean power of each band (columns) in each whole frame (rows) of sound in -1 to 1."""
    frames = np.lib.stride_tricks.sliding_window_view(samples, WINDOW)[::HOP]
    spectrum = np.abs(np.fft.rfft(frames * _TAPER, axis=1)) ** 2 / np.sum(_TAPER**2)
    return np.stack([spectrum[:, band].mean(axis=1) for band in _BANDS], axis=1) + _LEAST_POWER


def smoothed(powers: Floats) -> Floats:
    """The mean over 10 ms up to each frame."""
    ends = np.arange(1, len(powers) + 1)
    begins = np.maximum(0, ends - SMOOTH)
    sums = np.concatenate((np.zeros((1, powers.shape[1])), np.cumsum(powers, axis=0)))
    return np.asarray((sums[ends] - sums[begins]) / (ends - begins)[:, None])


def mean_square(powers: Floats) -> Floats:
    """The mean square of the sound in each frame, without what lies below the bands."""
    return np.asarray(powers @ _SHARES)


class NoiseFloor:
    """Follows the noise between the marks, so that a mark does not raise its own floor."""

    def __init__(self) -> None:
        self._powers = np.empty((0, len(_BANDS)))
        self._levels_db = np.empty(0)
        self.power = np.full(len(_BANDS), _LEAST_POWER)
        """Mean power of each band, from its median: a tap more or less moves it little."""
        self.usual = self.power
        """What each band passes in one frame of 20, smoothed."""
        self.usual_db = 0.0
        """The level over the floor that the noise itself passes in one frame of 200."""

    def level_db(self, smooth: Floats) -> Floats:
        """The level over the floor: the mean of the bands, each over its own noise."""
        return np.asarray(10 * np.log10((smooth / self.power).mean(axis=-1)))

    def start_anew(self, powers: Floats) -> None:
        """The noise is another one from now on: forgets all but these frames of it."""
        self._powers, self._levels_db = powers[:0], np.empty(0)
        self.learn(powers, np.empty(0))
        self.learn(powers[:0], self.level_db(smoothed(powers)))

    def learn(self, powers: Floats, levels_db: Floats) -> None:
        """Takes in new frames of nothing but noise and their levels."""
        self._powers = np.concatenate((self._powers, powers))[-_MEMORY:]
        self._levels_db = np.concatenate((self._levels_db, levels_db))[-_LONG_MEMORY:]
        if not len(self._powers):
            return
        # The median of the exponential distribution is its mean times the logarithm of two.
        self.power = np.median(self._powers, axis=0) / np.log(2)
        self.usual = np.quantile(smoothed(self._powers), 0.95, axis=0)
        if len(self._levels_db):
            self.usual_db = float(np.quantile(self._levels_db, 0.995))
