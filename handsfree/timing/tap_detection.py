"""A tap among the sounds, and the sample at which it is struck."""

from __future__ import annotations

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from handsfree.timing.noise_floor import FRAME_S, Floats, mean_square

SOON = 0.1
"""A tap has so little of its power just before it, and soon after."""

_LOUD = 0.5  # so much of the loudest soon after it: else it is a click before the mark
_VOICED = 0.3  # a click with so much of its power, and longer than a clatter, after it is a word
_GUSTS, _MOST_USUAL = 4.0, 100.0  # of what is usual in the noise, and that over its mean
_ABOUT, _BEFORE, _AFTER, _VOWEL = (
    round(seconds / FRAME_S) for seconds in (0.032, 0.012, 0.06, 0.09)
)
_EDGE = 16  # samples that a stretch must have for its variance to be told
_LEAST_POWER = 1e-14


def struck_in(powers: Floats, start: int, noise: Floats, usual: Floats) -> int | None:
    """The row at which a tap is struck: it is there at once, and soon gone. None for a word.

    Seen where every band counts by how far it stands over its noise, and in the plain power too:
    a burst of hiss at the start of a word is soon gone in the one, but not in the other. The rows
    given must end before the next mark can begin. ``noise`` is the mean power of each band in the
    noise, ``usual`` what it seldom passes.
    """
    low = max(0, start - _ABOUT)
    over = (powers / noise).mean(axis=1)
    if over[low : start + _ABOUT].max() < 1 / (1 - SOON):
        return None  # it stands over its noise in no frame
    found = None
    for power, floor, seldom in (
        (over, 1.0, float((usual / noise).mean())),
        (mean_square(powers), float(mean_square(noise)), float(mean_square(usual))),
    ):
        peak = power[low : start + _ABOUT].max()
        first = low + int(np.argmax(power[low : start + _ABOUT] >= peak * SOON + floor))
        before = power[max(0, first - 2 * _BEFORE) : max(1, first - _BEFORE)].mean()
        after = power[min(first + _AFTER, len(power) - 1) : first + 2 * _AFTER].mean()
        if max(before, after) > peak * SOON + floor or peak < power.max() * _LOUD:
            return None
        gusts = _GUSTS * min(seldom, _MOST_USUAL * floor)
        if _lasting(power[first + _AFTER :]) > peak * _VOICED + gusts:
            return None
        found = first if found is None else found
    return found


def _lasting(power: Floats) -> float:
    """The most that half of the frames of so long as a short vowel lasts stay above."""
    if len(power) < _VOWEL:
        return 0.0
    return float(np.median(sliding_window_view(power, _VOWEL), axis=1).max())


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
