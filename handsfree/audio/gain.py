"""Makes sound louder or softer without clipping it."""

from __future__ import annotations

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

_CEILING = 32_000.0  # of 32768
# One period of a low voice: a faster limiter is heard as roughness.
_REACH_S = 0.01


def amplified(samples: NDArray[np.int16], rate: int, gain_db: float) -> NDArray[np.int16]:
    """Returns the mono sound ``gain_db`` louder, with its peaks held below clipping.

    Only the few peaks of a voice reach the ceiling, so most of the gain takes effect. A gain of 0
    returns the samples unchanged.
    """
    if gain_db == 0:
        return samples
    wanted = samples.astype(np.float64) * 10 ** (gain_db / 20)
    if np.abs(wanted).max(initial=0.0) > _CEILING:
        wanted *= _limits(wanted, round(_REACH_S * rate))
    louder: NDArray[np.int16] = np.rint(wanted).astype(np.int16)
    return louder


def _limits(wanted: NDArray[np.float64], reach: int) -> NDArray[np.float64]:
    """Smooth factors that keep every sample below the ceiling.

    Each factor is the mean, over ``reach`` samples to both sides, of the lowest factor needed in a
    window of the same width. It never exceeds what the sample itself needs.
    """
    needed = _CEILING / np.maximum(np.abs(wanted), _CEILING)
    width = 2 * reach + 1
    padded = np.pad(needed, 2 * reach, constant_values=1.0)
    lowest = sliding_window_view(padded, width).min(axis=1)
    return np.convolve(lowest, np.full(width, 1 / width), mode="valid")
