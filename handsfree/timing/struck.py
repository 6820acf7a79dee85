"""A tap among the sounds, and the sample at which it is struck."""

from __future__ import annotations

import numpy as np

from handsfree.timing.noise_floor import FRAME_S, Floats, mean_square

SOON = 0.1
"""A tap has so little of its power just before it, and soon after."""

_LOUD = 0.5  # so much of the loudest soon after it: else it is a click before the mark
_ABOUT, _BEFORE, _AFTER = (round(seconds / FRAME_S) for seconds in (0.032, 0.012, 0.06))
_EDGE = 16  # samples that a stretch must have for its variance to be told
_LEAST_POWER = 1e-14


def struck_in(powers: Floats, start: int, noise: Floats) -> int | None:
    """The row at which a tap is struck: it is there at once, and soon gone. None for a word.

    Seen where every band counts by how far it stands over its noise, and in the plain power too:
    a burst of hiss at the start of a word is soon gone in the one, but not in the other.
    """
    low = max(0, start - _ABOUT)
    over = (powers / noise).mean(axis=1)
    if over[low : start + _ABOUT].max() < 1 / (1 - SOON):
        return None  # it stands over its noise in no frame
    found = None
    for power, floor in (
        (over, 1.0),
        (mean_square(powers), float(mean_square(noise))),
    ):
        peak = power[low : start + _ABOUT].max()
        first = low + int(np.argmax(power[low : start + _ABOUT] >= peak * SOON + floor))
        before = power[max(0, first - 2 * _BEFORE) : max(1, first - _BEFORE)].mean()
        after = power[min(first + _AFTER, len(power) - 1) : first + 2 * _AFTER].mean()
        if max(before, after) > peak * SOON + floor or peak < power.max() * _LOUD:
            return None
        found = first if found is None else found
    return found


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
