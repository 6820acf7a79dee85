"""Sounds whose marks stand at known samples, made from nothing."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from handsfree.timing.mark import SAMPLE_RATE


def tap(at_hz: float = 2100.0, seconds: float = 0.08) -> NDArray[np.float64]:
    at_s = np.arange(round(seconds * SAMPLE_RATE)) / SAMPLE_RATE
    return 0.4 * np.sin(2 * np.pi * at_hz * at_s + 1.2) * np.exp(-at_s / 0.012)


def word(seconds: float = 0.35) -> NDArray[np.float64]:
    """A hiss of 80 ms, then a voice of 120 Hz: as 'shut' and 'check' begin."""
    rng = np.random.default_rng(3)
    hiss = np.diff(rng.normal(0, 0.02, round(0.08 * SAMPLE_RATE) + 1))
    at_s = np.arange(round((seconds - 0.08) * SAMPLE_RATE)) / SAMPLE_RATE
    voice = sum(np.sin(2 * np.pi * 120 * nth * at_s) / nth for nth in range(1, 25))
    return np.concatenate((hiss, 0.12 * voice * np.hanning(len(at_s)) ** 0.5))


def stream(
    seconds: float, sounds: dict[float, NDArray[np.float64]], noise_rms: float = 0.0005
) -> NDArray[np.int16]:
    """Each sound from its second on, in the noise of a room."""
    samples = np.random.default_rng(5).normal(0, noise_rms, round(seconds * SAMPLE_RATE))
    for at_s, sound in sounds.items():
        first = round(at_s * SAMPLE_RATE)
        samples[first : first + len(sound)] += sound
    return np.clip(np.rint(samples * 32768), -32768, 32767).astype(np.int16)
