"""Sounds whose marks stand at known samples, made from nothing."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from handsfree.timing.beat import RISE_DB
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


def word_beat_s(seconds: float = 0.35) -> float:
    """Where the beat of that word is, after its start: by the shape of its voice alone.

    The power goes as (1 - cos(2 pi t / T)) / 2, so it is within d dB of its loudest from
    T acos(1 - 2 * 10 ** (-d / 10)) / (2 pi) on.
    """
    shares = 10 ** (-np.arange(RISE_DB[0], RISE_DB[1] + 1) / 10)
    return 0.08 + (seconds - 0.08) * float(np.mean(np.arccos(1 - 2 * shares))) / (2 * np.pi)


def stream(
    seconds: float, sounds: dict[float, NDArray[np.float64]], noise_rms: float = 0.0005
) -> NDArray[np.int16]:
    """Each sound from its second on, in the noise of a room."""
    samples = np.random.default_rng(5).normal(0, noise_rms, round(seconds * SAMPLE_RATE))
    for at_s, sound in sounds.items():
        first = round(at_s * SAMPLE_RATE)
        samples[first : first + len(sound)] += sound
    return np.clip(np.rint(samples * 32768), -32768, 32767).astype(np.int16)
