"""Synthetic sounds with marks at known samples."""

from __future__ import annotations

import numpy as np
import scipy
from numpy.typing import NDArray

from handsfree.sample_rate import SAMPLE_RATE_HZ
from handsfree.timing.p_center import RISE_DB


def tap(at_hz: float = 2100.0, seconds: float = 0.08) -> NDArray[np.float64]:
    at_s = np.arange(round(seconds * SAMPLE_RATE_HZ)) / SAMPLE_RATE_HZ
    return 0.4 * np.sin(2 * np.pi * at_hz * at_s + 1.2) * np.exp(-at_s / 0.012)


def word(seconds: float = 0.35) -> NDArray[np.float64]:
    """A hiss of 80 ms, then a voice of 120 Hz: as 'shut' and 'check' begin."""
    rng = np.random.default_rng(3)
    hiss = np.diff(rng.normal(0, 0.02, round(0.08 * SAMPLE_RATE_HZ) + 1))
    at_s = np.arange(round((seconds - 0.08) * SAMPLE_RATE_HZ)) / SAMPLE_RATE_HZ
    voice = sum(np.sin(2 * np.pi * 120 * nth * at_s) / nth for nth in range(1, 25))
    return np.concatenate((hiss, 0.12 * voice * np.hanning(len(at_s)) ** 0.5))


def word_beat_s(seconds: float = 0.35) -> float:
    """Where the beat of that word is, after its start: by the shape of its voice alone.

    The power goes as (1 - cos(2 pi t / T)) / 2, so it is within d dB of its loudest from
    T acos(1 - 2 * 10 ** (-d / 10)) / (2 pi) on.
    """
    shares = 10 ** (-np.arange(RISE_DB[0], RISE_DB[1] + 1) / 10)
    return 0.08 + (seconds - 0.08) * float(np.mean(np.arccos(1 - 2 * shares))) / (2 * np.pi)


def opening_voice(hum_s: float, softer_db: float) -> NDArray[np.float64]:
    """A voice of 200 Hz, behind closed lips (nothing above 1,500 Hz) until it opens."""
    at_s = np.arange(round((hum_s + 0.3) * SAMPLE_RATE_HZ)) / SAMPLE_RATE_HZ
    voice = sum(np.sin(2 * np.pi * 200 * nth * at_s + nth) / nth for nth in range(1, 35))
    closed = scipy.signal.sosfilt(
        scipy.signal.butter(2, 1500, fs=SAMPLE_RATE_HZ, output="sos"), voice
    )
    opened = np.clip((at_s - hum_s) / 0.02, 0, 1)
    sound = closed * 10 ** (-softer_db / 20) * (1 - opened) + voice * opened
    fade = np.clip(at_s / 0.02, 0, 1) * np.clip((at_s[-1] - at_s) / 0.05, 0, 1)
    return np.asarray(0.06 * sound * fade)


def stream(
    seconds: float, sounds: dict[float, NDArray[np.float64]], noise_rms: float = 0.0005
) -> NDArray[np.int16]:
    """Each sound from its second on, in the noise of a room."""
    samples = np.random.default_rng(5).normal(0, noise_rms, round(seconds * SAMPLE_RATE_HZ))
    for at_s, sound in sounds.items():
        first = round(at_s * SAMPLE_RATE_HZ)
        samples[first : first + len(sound)] += sound
    return np.clip(np.rint(samples * 32768), -32768, 32767).astype(np.int16)
