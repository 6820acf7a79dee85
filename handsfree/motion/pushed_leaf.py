"""Finds the mark that a hand leaves in the speed of a leaf.

A drive brings the leaf to a speed, holds it up to some angle, and changes it to the next in one
stroke. A hand adds a rounded bump of a few tenths of a second. On level speed the bump is a second
rise, which ``leaf_cycles`` sees. Next to a ramp two other marks are left:

- **a rounded top**: right after the ramp the speed falls again to a level, without having been
  held;
- **a change in two strokes**: the acceleration, or the deceleration, has two peaks with a valley
  between them.

A drive that overshoots leaves the first mark too, and one cycle cannot tell the two apart.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from handsfree.motion.smooth import Floats, noise_gain, smoothed

_WINDOW_S = 0.15
_STEP_S = 0.01
_FROM_DEG, _TO_END_DEG = 3.0, 1.5
_LEVEL_S, _LEVEL_SHARE, _LEVEL_DEG_S = 0.25, 0.03, 0.4
_SETTLES_S = 1.2
_TOP_FALL_SHARE = 0.07
_TOP_BAND_SHARE = 0.1
HELD_S = 0.3
"""Shortest time that a drive holds its largest speed before it falls to a lower one (s).

In the simulation the drives hold it for 0.34 s and more, and a hand for up to 0.28 s.
"""
_VALLEY_SHARE = 0.5
_STROKE_SHARE = 0.04
_STROKES_APART_S = 0.6
_LEAST_DEG_S, _LEAST_DEG_S2 = 4.0, 2.5


class _Travel(NamedTuple):
    """The speeds on the way (degrees per second, at ``step_s``) and their noise."""

    speed: list[float]
    step_s: float
    noise: float


def marked_by_a_hand(
    angle_deg: Floats,
    rate_deg_s: Floats,
    *,
    top: int,
    open_deg: float,
    step_s: float,
    noise_deg_s: float,
) -> bool:
    """True if the speed of a cycle has a rounded top next to a ramp, or changes in two strokes.

    ``top`` is the index at which opening turns into closing.
    """
    smooth = np.abs(smoothed(rate_deg_s, step_s, _WINDOW_S))
    every = max(1, round(_STEP_S / step_s))
    noise = noise_deg_s * noise_gain(step_s, _WINDOW_S)
    for begin, end in ((0, top), (top, len(smooth))):
        inside = np.flatnonzero(
            (angle_deg[begin:end] > _FROM_DEG) & (angle_deg[begin:end] < open_deg - _TO_END_DEG)
        )
        if not len(inside):
            continue
        part = smooth[begin + int(inside[0]) : begin + int(inside[-1]) + 1]
        travel = _Travel(part.tolist()[::every], every * step_s, noise)
        if _rounded_top(travel) or _two_strokes(travel):
            return True
    return False


def _rounded_top(travel: _Travel) -> bool:
    """True if the speed falls from its peak to a level without having been held there."""
    speed = travel.speed
    if not speed:
        return False
    peak = max(speed)
    at = speed.index(peak)
    level = _level_after(travel, at)
    if level is None or peak - level < max(_TOP_FALL_SHARE * level, 20 * travel.noise):
        return False
    band = peak - max(_TOP_BAND_SHARE * (peak - level), 4 * travel.noise)
    begin, end = at, at
    while begin > 0 and speed[begin] > band:
        begin -= 1
    while end < len(speed) - 1 and speed[end] > band:
        end += 1
    return (end - begin) * travel.step_s < HELD_S


def _level_after(travel: _Travel, at: int) -> float | None:
    """The first lower speed after a peak that is held for a while; None if there is none soon."""
    width = round(_LEVEL_S / travel.step_s)
    last = min(len(travel.speed) - width, at + round(_SETTLES_S / travel.step_s))
    for begin in range(at, last):
        window = travel.speed[begin : begin + width]
        low, high = min(window), max(window)
        middle = (low + high) / 2
        if high - low < max(_LEVEL_SHARE * middle, _LEVEL_DEG_S, 5 * travel.noise) and (
            middle < travel.speed[at] * (1 - _TOP_FALL_SHARE / 2)
        ):
            return middle
    return None


def _two_strokes(travel: _Travel) -> bool:
    """True if the speed rises, or falls, in two strokes of acceleration close to each other."""
    speed, step = travel.speed, travel.step_s
    rates = [(after - before) / step for before, after in pairwise(speed)]
    least = max(_LEAST_DEG_S2, 24 * travel.noise / _WINDOW_S)
    for sign in (1.0, -1.0):
        change = [sign * rate for rate in rates]
        for one, other in pairwise(_peaks(change, least)):
            far = sign < 0 and (other - one) * step > _STROKES_APART_S
            if not far and _both_count(travel, sign, change, one, other):
                return True
    return False


def _peaks(change: Sequence[float], least: float) -> list[int]:
    """Indices of the peaks above ``least`` that a valley of half their height separates."""
    kept: list[int] = []
    for nth in range(1, len(change) - 1):
        here = change[nth]
        if here < least or here < change[nth - 1] or here <= change[nth + 1]:
            continue
        if not kept:
            kept.append(nth)
            continue
        last = kept[-1]
        if min(change[last : nth + 1]) < _VALLEY_SHARE * min(change[last], here):
            kept.append(nth)
        elif here > change[last]:
            kept[-1] = nth
    return kept


def _both_count(
    travel: _Travel, sign: float, change: Sequence[float], one: int, other: int
) -> bool:
    """True if both strokes change the speed by more than a small share of it."""
    speed = travel.speed
    valley = min(range(one, other + 1), key=lambda nth: change[nth])
    begin, end = one, other
    while begin > 0 and change[begin] > 0.1 * change[one]:
        begin -= 1
    while end < len(change) - 1 and change[end] > 0.1 * change[other]:
        end += 1
    least = max(_STROKE_SHARE * max(speed[valley], _LEAST_DEG_S), 6 * travel.noise)
    first, second = speed[valley] - speed[begin], speed[end] - speed[valley]
    return min(sign * first, sign * second) > least
