"""Where a sound began, to the sample, and how well that is known."""

from __future__ import annotations

import numpy as np

from handsfree.timing.noise_floor import FRAME_S, Floats

COVERED = 0.985
"""The share of the evidence that lies within 1.96 of the uncertainty: two marks make a time."""
LEAST_S = 0.001

_EDGE = 16  # samples that a stretch must have for its variance to be told
_LEAST_POWER = 1e-14


def change_at(samples: Floats) -> int:
    """The sample at which a noise turns into something louder: Akaike's criterion.

    The best split into two stretches of one variance each (Maeda's form, known from picking
    the first waves of earthquakes: memory). 0 where there are too few samples.
    """
    count = len(samples)
    if count <= 2 * _EDGE:
        return 0
    energy = np.cumsum(samples**2) + _LEAST_POWER
    splits = np.arange(_EDGE, count - _EDGE)
    before = energy[splits - 1] / splits
    after = (energy[-1] - energy[splits - 1] + _LEAST_POWER) / (count - splits)
    cost = splits * np.log(before) + (count - splits) * np.log(after)
    return int(splits[np.argmin(cost)])


def middle_of(odds: Floats) -> tuple[float, float]:
    """The mean of the frames, each by its odds of being the first, and their spread about it.

    Where two frames are as likely, a soft breath and the vowel after it, the mean errs less
    in the square than either.
    """
    frames = np.arange(len(odds))
    middle = float(np.average(frames, weights=odds))
    return middle, float(np.sqrt(np.average((frames - middle) ** 2, weights=odds)))


def uncertainty_s(odds: Floats, at: float) -> float:
    """The standard uncertainty of a start, from the odds of each frame that it is the one.

    ``at`` is the frame that was taken for it. The evidence within 1.96 of the result is
    COVERED; where errors are seldom and large this is wider than their root mean square.
    """
    apart = np.abs(np.arange(len(odds)) - at)
    order = np.argsort(apart)
    shares = np.cumsum(odds[order]) / odds.sum()
    nth = int(np.searchsorted(shares, COVERED))
    # Between the last frame within and the next one the evidence is spread evenly.
    width = apart[order[min(nth, len(order) - 1)]]
    return round(max(LEAST_S, float(width) * FRAME_S / 1.96), 4)
