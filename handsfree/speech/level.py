"""The level of a voice over the noise around it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

_FRAME = 320  # 20 ms at 16 kHz
_FLOOR = 1e-3  # of one quantisation step, so that silence has a level too


def snr_db(samples: NDArray[np.int16]) -> float:
    """Signal over noise of one utterance (mono, 16 kHz), in dB.

    The noise is the mean power of the quietest tenth of its 20 ms frames, the signal
    that of the loudest half above it: an utterance comes with its pre-roll and its
    trailing silence, so both are there.
    """
    usable = len(samples) // _FRAME * _FRAME
    if usable == 0:
        return 0.0
    frames = samples[:usable].astype(np.float64).reshape(-1, _FRAME)
    power = np.sort(np.mean(frames**2, axis=1)) + _FLOOR
    noise = power[: max(1, len(power) // 10)].mean()
    voice = power[len(power) // 2 :].mean()
    return float(10 * np.log10(max(voice - noise, _FLOOR) / noise))
