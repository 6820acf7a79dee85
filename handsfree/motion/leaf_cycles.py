"""Finds the cycles in the angle of a leaf, and the moments of each.

A cycle goes from closed to closed. The error of the integral when the leaf is closed again is
spread over the time of movement. Angles count from closed. The moments are those of the stopwatch
(``timing/cycle.py``): a leaf starts to move at 0.1 degree, is fully open within half a degree of
where it comes to rest, and is latched at 0.2 degree.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from handsfree.motion.leaf_angle import SLIP_RAD, LeafAngle, Stretch
from handsfree.motion.motion_record import Flag
from handsfree.motion.pushed_leaf import marked_by_a_hand
from handsfree.motion.smooth import noise_gain, smoothed

Floats = NDArray[np.float64]

CLOSED_DEG = 2.0
"""A leaf at rest within this angle of the start of the cycle may be closed (degrees)."""
LEAST_SWING_DEG = 5.0
"""Smallest cycle; a smaller movement is only a knock (degrees)."""
BEGINS_DEG, OPEN_WITHIN_DEG, SHUT_DEG = 0.1, 0.5, 0.2
PEAK_WINDOW_S = 0.2
"""Window of the smoothed speed from which peaks are taken (s)."""
_KNEE_WINDOW_S = 0.1
_KNEE_SIDE_S = (0.2, 0.5)
_KNEE_LEAST_DROP = 0.15
_KNEE_FROM_DEG, _KNEE_TO_END_DEG = 40.0, 4.0
_BACK_DEG = 2.0
_STOP_DEG = 3.0
_UNEVEN_SHARE = 0.06
_UNEVEN_DEG_S = 0.4
_UNDERSHOOT_SHARE = 0.03
"""Overshoot of the speed, as a share of its fall, that a control may cause at the end of a hard
ramp.
"""
_LEVEL_S = 0.2
_DID_NOT_OPEN_DEG = 45.0


class Swing(NamedTuple):
    """One cycle on its own clock: arrays of shape (n,), from a little before the first movement.

    ``time_s`` is the log's time, ``angle_deg`` counts from closed, ``rate_deg_s`` is negative while
    closing, ``moving_s`` is the time moved so far (s). ``open_deg`` is the angle at rest when open.
    ``closure_deg`` is the error that was spread; None if the leaf did not close. ``top`` is the
    index at which opening turns into closing.
    """

    time_s: Floats
    angle_deg: Floats
    rate_deg_s: Floats
    moving_s: Floats
    open_deg: float
    closure_deg: float | None
    top: int
    flags: tuple[Flag, ...]
    noise_deg_s: float
    step_s: float
    jitter_s: float


def swings(leaf: LeafAngle, closure_doubt_deg: float) -> tuple[Swing, ...]:
    """The cycles in order; ``closure_doubt_deg`` is the possible error of the integral from noise
    (degrees).
    """
    return tuple(_swing(leaf, *each, closure_doubt_deg) for each in _grouped(leaf))


def _grouped(leaf: LeafAngle) -> Iterator[tuple[int, int, bool]]:
    """First and last movement of each cycle, and whether it began with the leaf closed."""
    level, first, highest, began_closed = 0.0, 0, 0.0, True
    turns = [_turn_deg(leaf, move) for move in leaf.moves]
    for nth, move in enumerate(leaf.moves):
        path = np.degrees(leaf.angle_rad[move.begin : move.end] - leaf.angle_rad[move.begin])
        highest = max(highest, level + float(path.max()))
        level += turns[nth]
        closed = abs(level) < CLOSED_DEG
        if closed and highest < LEAST_SWING_DEG:
            level, first, highest, began_closed = 0.0, nth + 1, 0.0, True
            continue
        opens_next = nth + 1 < len(turns) and turns[nth + 1] > LEAST_SWING_DEG
        came_back = turns[nth] < -LEAST_SWING_DEG
        if closed or (came_back and opens_next) or nth + 1 == len(turns):
            yield first, nth, began_closed
            began_closed = closed
            level, first, highest = (0.0 if closed else level), nth + 1, 0.0


def _turn_deg(leaf: LeafAngle, move: Stretch) -> float:
    return math.degrees(float(leaf.angle_rad[move.end - 1] - leaf.angle_rad[move.begin]))


def _swing(
    leaf: LeafAngle, first: int, last: int, began_closed: bool, closure_doubt_deg: float
) -> Swing:
    begin, end = leaf.moves[first].begin, leaf.moves[last].end
    angle = np.degrees(leaf.angle_rad[begin:end] - leaf.angle_rad[begin])
    moving = np.zeros(end - begin)
    for move in leaf.moves[first : last + 1]:
        moving[move.begin - begin : move.end - begin] = leaf.step_s
    moving_s = np.cumsum(moving)
    flags: list[Flag] = []
    left_deg = float(angle[-1])
    closure: float | None = left_deg
    if not began_closed or abs(left_deg) > 4 * closure_doubt_deg + 0.3:
        flags.append("did not close")
        closure = None
    else:
        angle = angle - left_deg * moving_s / moving_s[-1]
    levels = [
        (float(angle[move.end - 1 - begin]), move.end - begin) for move in leaf.moves[first:last]
    ]
    highest = float(angle.max())
    open_rests = [level for level, _ in levels if level > highest - 1.5]
    open_deg = float(np.mean(open_rests)) if open_rests else highest
    top = next((at for level, at in levels if level > highest - 1.5), int(np.argmax(angle)))
    rate = np.degrees(leaf.rate_rad_s[begin:end])
    swing = Swing(
        leaf.time_s[begin:end], angle, rate, moving_s, open_deg, closure, top, (),
        math.degrees(leaf.noise_rad_s), leaf.step_s, leaf.jitter_s,
    )  # fmt: skip
    if open_deg < _DID_NOT_OPEN_DEG:
        flags.append("did not open")
    if any(_STOP_DEG < level < open_deg - _STOP_DEG for level, _ in levels):
        flags.append("stopped on the way")
    if _turned_back(swing):
        flags.append("turned back")
    if any(leaf.off_axis_rad[nth] > SLIP_RAD for nth in range(first, last + 1)):
        flags.append("phone slipped")
    if _uneven(swing) or _by_hand(swing):
        flags.append("uneven speed")
    return swing._replace(flags=tuple(flags))


def _by_hand(swing: Swing) -> bool:
    return marked_by_a_hand(
        swing.angle_deg,
        swing.rate_deg_s,
        top=swing.top,
        open_deg=swing.open_deg,
        step_s=swing.step_s,
        noise_deg_s=swing.noise_deg_s,
    )


def _turned_back(swing: Swing) -> bool:
    opening, closing = swing.angle_deg[: swing.top], swing.angle_deg[swing.top :]
    on_the_way = opening < swing.open_deg - _STOP_DEG
    fell = (np.maximum.accumulate(opening) - opening)[on_the_way]
    rose = closing - np.minimum.accumulate(closing)
    return bool((len(fell) and fell.max() > _BACK_DEG) or (len(rose) and rose.max() > _BACK_DEG))


def _uneven(swing: Swing) -> bool:
    """True if the speed, once level or falling, rises again by more than noise and control
    explain.
    """
    speed = np.abs(smoothed(swing.rate_deg_s, swing.step_s, PEAK_WINDOW_S))
    noise = swing.noise_deg_s * noise_gain(swing.step_s, PEAK_WINDOW_S)
    for begin, end in ((0, swing.top), (swing.top, len(speed))):
        inside = (swing.angle_deg[begin:end] > _STOP_DEG) & (
            swing.angle_deg[begin:end] < swing.open_deg - _STOP_DEG / 2
        )
        part = speed[begin:end][inside]
        if len(part) < 3:
            continue
        least = np.maximum(max(_UNEVEN_DEG_S, 10 * noise), _UNEVEN_SHARE * part)
        fallen = np.maximum.accumulate(part) - part
        least = np.maximum(least, _UNDERSHOOT_SHARE * fallen)
        rise = np.maximum.accumulate(part[::-1])[::-1] - part
        width = max(2, round(_LEVEL_S / swing.step_s))
        if bool(((rise > least) & (_level(part, width, least / 2) | (_dip(part) > least))).any()):
            return True
    return False


def _dip(speed: Floats) -> Floats:
    """How far each value lies below larger ones both before and after it."""
    before, after = np.maximum.accumulate(speed), np.maximum.accumulate(speed[::-1])[::-1]
    out: Floats = np.minimum(before, after) - speed
    return out


def _level(speed: Floats, width: int, within: Floats) -> NDArray[np.bool_]:
    """True where the speed has stayed within a band for ``width`` samples: the ramp is over."""
    out = np.zeros(len(speed), dtype=bool)
    if len(speed) > width:
        windows = np.lib.stride_tricks.sliding_window_view(speed, width)
        out[width - 1 :] = np.ptp(windows, axis=1) < within[width - 1 :]
    return out


def first_crossing(swing: Swing, level_deg: float) -> int | None:
    """Index of the first sample at or above an angle during opening."""
    found = np.flatnonzero(swing.angle_deg[: swing.top + 1] >= level_deg)
    return int(found[0]) if len(found) else None


def last_crossing(swing: Swing, level_deg: float) -> int | None:
    """Index of the first sample after which the closing leaf stays below an angle."""
    above = np.flatnonzero(swing.angle_deg[swing.top :] > level_deg)
    if not len(above) or swing.top + int(above[-1]) + 1 >= len(swing.angle_deg):
        return None
    return swing.top + int(above[-1]) + 1


def crossing_s(swing: Swing, nth: int, level_deg: float) -> float:
    """The time at which the angle passes a level just before sample ``nth`` (s).

    The rate is linear between two samples, so the angle is a parabola there; one Newton step from
    the linear estimate is enough.
    """
    if nth == 0:
        return float(swing.time_s[0])
    before, after = float(swing.angle_deg[nth - 1]), float(swing.angle_deg[nth])
    share = 0.5 if after == before else (level_deg - before) / (after - before)
    r0, r1 = float(swing.rate_deg_s[nth - 1]), float(swing.rate_deg_s[nth])
    step = swing.step_s
    for _ in range(3):
        at = before + step * (r0 * share + (r1 - r0) * share * share / 2)
        rate = step * (r0 + (r1 - r0) * share)
        if abs(rate) < 1e-9:
            break
        share -= (at - level_deg) / rate
    return float(swing.time_s[nth - 1]) + step * min(1.0, max(0.0, share))


def backcheck_s(swing: Swing) -> float | None:
    """Time at which the opening leaf begins to slow down for backcheck (s); None if it does not.

    The straight part of the deceleration is extrapolated back to the speed before it.
    """
    speed = smoothed(swing.rate_deg_s, swing.step_s, _KNEE_WINDOW_S)
    inside = np.flatnonzero(
        (swing.angle_deg[: swing.top] > _KNEE_FROM_DEG)
        & (swing.angle_deg[: swing.top] < swing.open_deg - _KNEE_TO_END_DEG)
    )
    if len(inside) < 5:
        return None
    steepest = int(inside[int(np.argmin(np.gradient(speed)[inside]))])
    near, far = (round(side / swing.step_s) for side in _KNEE_SIDE_S)
    before = speed[max(0, steepest - far) : max(1, steepest - near)]
    after = speed[steepest + near : steepest + far]
    after = after[swing.angle_deg[steepest + near : steepest + far] < swing.open_deg - 1.0]
    if len(before) < 3 or len(after) < 3:
        return None
    v1, v2 = float(np.median(before)), float(np.median(after))
    if v1 - v2 < max(_KNEE_LEAST_DROP * v1, 6 * swing.noise_deg_s * 0.5):
        return None
    high, low = v1 - 0.2 * (v1 - v2), v1 - 0.7 * (v1 - v2)
    at_high = steepest
    while at_high > 0 and speed[at_high] < high:
        at_high -= 1
    at_low = steepest
    while at_low < swing.top and speed[at_low] > low:
        at_low += 1
    t_high = _passed(swing, speed, at_high, high)
    t_low = _passed(swing, speed, at_low - 1, low)
    return t_high - (t_low - t_high) * 0.2 / 0.5


def _passed(swing: Swing, speed: Floats, nth: int, level: float) -> float:
    """Time at which the falling speed passes a level between samples ``nth`` and the next (s)."""
    one, other = float(speed[nth]), float(speed[min(nth + 1, len(speed) - 1)])
    share = 0.0 if one == other else min(1.0, max(0.0, (one - level) / (one - other)))
    return float(swing.time_s[nth]) + share * swing.step_s
