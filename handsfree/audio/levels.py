"""The level of a voice, alone and relative to the noise around it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

LEVEL_FRAME = 320
"""Samples in a level frame: 20 ms at 16 kHz."""
LOUD_SHARE, LOUD_RMS = 0.9, 3000.0
"""Quantile of the frame levels taken as the voice, and the RMS it is scaled to (of 32768)."""

_MOST_GAIN = 100.0
_FLOOR = 1e-3  # of one quantization step, so that digital silence has a level too


def snr_db(samples: NDArray[np.int16]) -> float:
    """Signal-to-noise ratio of one utterance (mono, 16 kHz), in dB.

    The noise is the mean power of the quietest tenth of its 20 ms frames; the signal is the mean of
    the louder half, less the noise. An utterance carries its pre-roll and trailing silence, so both
    are present.
    """
    usable = len(samples) // LEVEL_FRAME * LEVEL_FRAME
    if usable == 0:
        return 0.0
    frames = samples[:usable].astype(np.float64).reshape(-1, LEVEL_FRAME)
    power = np.sort(np.mean(frames**2, axis=1)) + _FLOOR
    noise = power[: max(1, len(power) // 10)].mean()
    voice = power[len(power) // 2 :].mean()
    return float(10 * np.log10(max(voice - noise, _FLOOR) / noise))


def voice_rms(samples: NDArray[np.int16]) -> float:
    """Level of the voice in one utterance (0 to 1): the RMS of its louder half."""
    usable = len(samples) // LEVEL_FRAME * LEVEL_FRAME
    if usable == 0:
        return 0.0
    frames = samples[:usable].astype(np.float64).reshape(-1, LEVEL_FRAME) / 32768
    power = np.sort(np.mean(frames**2, axis=1))
    return float(np.sqrt(power[len(power) // 2 :].mean()))


def leveled(samples: NDArray[np.int16]) -> NDArray[np.float64]:
    """Scales one utterance so that its loud frames have a fixed level.

    The speech model is trained at this level, so that it can tell a voice near the microphone from
    people who talk farther away. Silence stays unchanged.
    """
    usable = len(samples) // LEVEL_FRAME * LEVEL_FRAME
    if usable == 0:
        return samples.astype(np.float64)
    frames = samples[:usable].astype(np.float64).reshape(-1, LEVEL_FRAME)
    loud = np.sqrt(np.quantile(np.mean(frames**2, axis=1), LOUD_SHARE))
    return samples.astype(np.float64) * min(LOUD_RMS / max(float(loud), 1.0), _MOST_GAIN)
