"""Computes the log-mel spectrogram, the input of a Whisper network, in numpy.

As published with the network: 16 kHz, a 25 ms Hann window every 10 ms, 80 triangular bands of equal
area on the Slaney mel scale from 0 to 8 kHz, the decimal logarithm of the power, at most 80 dB
below the loudest, in a window of 30 s. Source: Radford et al. 2022, section 2.2, and the public
code of the network (MIT); the mel scale: Slaney, Auditory Toolbox, 1998.
"""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray

from handsfree.sample_rate import SAMPLE_RATE_HZ

Floats = NDArray[np.float32]

WINDOW, HOP = 400, 160
"""Analysis window and step, in samples: 25 ms and 10 ms."""
BANDS = 80
LONGEST_S = 30
"""Length of the network's input (s). Shorter sound is padded with digital silence."""
FRAMES = LONGEST_S * SAMPLE_RATE_HZ // HOP

_FLOOR = 1e-10
_RANGE_DECADES = 8.0
_LINEAR_TO_HZ = 1000.0
"""Frequency up to which the Slaney scale is linear, with 15 mel per kHz (Hz); above it is
logarithmic.
"""


def log_mel(samples: NDArray[np.int16]) -> Floats:
    """Computes the features (80 bands x 3000 frames) of one utterance (mono, 16 kHz).

    Sound after 30 s is ignored.
    """
    sound = np.zeros(LONGEST_S * SAMPLE_RATE_HZ, np.float32)
    heard = samples[: len(sound)]
    sound[: len(heard)] = heard.astype(np.float32) / 32768.0
    power = np.square(np.abs(np.fft.rfft(_frames(sound) * _window(), axis=1)))
    levels = np.log10(np.maximum(power @ mel_filters().T, _FLOOR)).T
    levels = np.maximum(levels, levels.max() - _RANGE_DECADES)
    return np.ascontiguousarray((levels + 4.0) / 4.0, dtype=np.float32)


@cache
def mel_filters() -> Floats:
    """Weight of each spectral bin (201, 40 Hz each) in each of the 80 bands."""
    bins_hz = np.arange(WINDOW // 2 + 1) * SAMPLE_RATE_HZ / WINDOW
    edges_hz = _hz(np.linspace(0.0, _mel(SAMPLE_RATE_HZ / 2), BANDS + 2))
    low, middle, high = (edges_hz[start : start + BANDS, np.newaxis] for start in range(3))
    rising = (bins_hz - low) / (middle - low)
    falling = (high - bins_hz) / (high - middle)
    triangles = np.maximum(0.0, np.minimum(rising, falling))
    return (triangles * 2.0 / (high - low)).astype(np.float32)


def _frames(sound: Floats) -> Floats:
    """Windows centered on every 10 ms, with the sound mirrored at its ends."""
    mirrored = np.pad(sound, WINDOW // 2, mode="reflect")
    return np.lib.stride_tricks.sliding_window_view(mirrored, WINDOW)[::HOP][:FRAMES]


@cache
def _window() -> Floats:
    phase = 2.0 * np.pi * np.arange(WINDOW) / WINDOW
    return (0.5 - 0.5 * np.cos(phase)).astype(np.float32)


def _mel(hz: float) -> float:
    if hz < _LINEAR_TO_HZ:
        return hz * 15.0 / 1000.0
    return float(15.0 + 27.0 * np.log(hz / _LINEAR_TO_HZ) / np.log(6.4))


def _hz(mel: NDArray[np.float64]) -> NDArray[np.float64]:
    above = _LINEAR_TO_HZ * np.power(6.4, (mel - 15.0) / 27.0)
    return np.where(mel < 15.0, mel * 1000.0 / 15.0, above)
