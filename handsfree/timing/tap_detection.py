"""Distinguishes taps from other sounds, and finds the sample of the impact."""

from __future__ import annotations

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from handsfree.timing.noise_floor import FRAME_S, Floats, mean_square

SOON = 0.1
"""Share of a tap's power allowed just before it, and soon after."""

_LOUD = 0.5  # of the loudest soon after it; otherwise it is a click before the mark
_VOICED = 0.3  # a click followed by this share of its power for longer than a clatter is a word
_GUSTS, _MOST_USUAL = 4.0, 100.0  # of the usual noise, and of that over its mean
_ABOUT, _BEFORE, _AFTER, _VOWEL = (
    round(seconds / FRAME_S) for seconds in (0.032, 0.012, 0.06, 0.09)
)
_EDGE = 16  # shortest stretch whose variance can be estimated (samples)
_LEAST_POWER = 1e-14


def impact_row(powers: Floats, start: int, noise: Floats, usual: Floats) -> int | None:
    """Row of the impact of a tap, which begins suddenly and soon fades; None for a word.

    Tested with each band weighted by its noise, and with plain power too: a burst of hiss at the
    start of a word is soon gone in one, but not in the other. The given rows must end before the
    next mark can begin. ``noise`` is the mean power of each band in the noise, ``usual`` its usual
    maximum.
    """
    low = max(0, start - _ABOUT)
    over = (powers / noise).mean(axis=1)
    if over[low : start + _ABOUT].max() < 1 / (1 - SOON):
        return None  # no frame stands above its noise
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
    """Highest power that half of the frames in the length of a short vowel exceed."""
    if len(power) < _VOWEL:
        return 0.0
    return float(np.median(sliding_window_view(power, _VOWEL), axis=1).max())


def change_at(samples: Floats) -> int:
    """Sample at which noise turns into something louder, by Akaike's criterion.

    It is the best split into two stretches of constant variance (Maeda's form, used to pick the
    first waves of earthquakes: memory). 0 if there are too few samples.
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
