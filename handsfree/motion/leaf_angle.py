"""Computes the angle of the leaf from rotation rates: rests, bias, axis and integral.

While the leaf rests its rate is zero, so what the gyroscope shows then is its bias (a zero-velocity
update). The bias is followed from rest to rest and interpolated between them. The hinge axis is the
principal component of the rates while the leaf moves. A turn about another axis means that the
phone slips on the leaf. The angle is integrated only over the movements, so its error does not grow
while the leaf rests.
"""

from __future__ import annotations

import math
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from handsfree.errors import MotionError
from handsfree.motion.rotation_log import RotationLog

Floats = NDArray[np.float64]

WINDOW_S = 0.25
"""Length of the windows that are classified as rest or movement (s)."""
STILL_RAD_S = math.radians(0.3)
"""Largest difference from the bias in a window at rest (rad/s)."""
LEAST_REST_S = 0.5
"""Shortest rest that counts (s)."""
FIRST_REST_S = 1.0
"""Rest that a log has to begin and end with (s)."""
MOST_BIAS_RAD_S = math.radians(8)
"""Largest bias; a steady rate above this is a moving leaf (rad/s)."""
MOST_GAP_S = 0.1
"""Longest gap between samples while the leaf moves (s)."""
BIAS_SD_RAD_S = math.radians(0.01)
"""Standard uncertainty of the bias between two rests (rad/s): the in-run instability of a small
gyroscope (data sheets of consumer parts give 0.002 to 0.02 degrees a second; from memory).
"""
SLIP_RAD = math.radians(1.5)
"""Turn about an axis other than the hinge that means that the phone slipped (rad)."""
REST_PIECE_S = 1.5
"""Length of rest that gives one value of the bias (s)."""
_QUIET_FLOOR_RAD_S = math.radians(0.03)
_FOLLOW = 0.2


class Stretch(NamedTuple):
    """Samples from ``begin`` up to, not including, ``end``."""

    begin: int
    end: int


class LeafAngle(NamedTuple):
    """The leaf's angle and rate on an even grid of times.

    All arrays have shape (n,): ``time_s``, ``rate_rad_s`` about the hinge (opening is positive, 0
    at rest) and ``angle_rad`` from the start of the log. ``moves`` holds the movements between
    rests. ``noise_rad_s`` is the standard deviation of one sample, ``bias_rad_s`` the size of the
    bias at the start, ``off_axis_rad`` the largest turn about another axis in each movement,
    ``jitter_s`` the standard deviation of the time of a sample.
    """

    time_s: Floats
    rate_rad_s: Floats
    angle_rad: Floats
    moves: tuple[Stretch, ...]
    off_axis_rad: tuple[float, ...]
    noise_rad_s: float
    bias_rad_s: float
    step_s: float
    jitter_s: float


def leaf_angle(log: RotationLog) -> LeafAngle:
    """Computes angle and rate of the leaf from a log.

    Raises MotionError for a log that is too short, does not begin and end at rest, contains no
    movement, or has a gap while the leaf moves.
    """
    step_s = float(np.median(np.diff(log.time_s)))
    count = round(float(log.time_s[-1]) / step_s) + 1
    if count * step_s < 2 * FIRST_REST_S + WINDOW_S:
        raise MotionError(
            f"the log is {log.time_s[-1]:.1f} s long",
            fault="too_short",
            way_out="a cycle with two seconds of rest before and after it takes 15 to 30 s",
        )
    time_s: Floats = np.arange(count, dtype=np.float64) * step_s
    rates = np.column_stack(
        [np.interp(time_s, log.time_s, log.rates_rad_s[:, k]) for k in range(3)]
    )
    window = max(4, round(WINDOW_S / step_s))
    at_rest, noise = _rest_windows(rates, window)
    rests = _stretches(at_rest, window, count, max(1, round(LEAST_REST_S / WINDOW_S)))
    _refuse_without_rest(rests, time_s)
    moves = _moves(rests, window, count)
    if not moves:
        raise MotionError(
            "the leaf does not move in this log", fault="no_cycle", way_out="log at least one cycle"
        )
    _refuse_gaps(log, moves, time_s)
    turning = rates - _bias(rests, rates, time_s, window)
    axis = _axis(turning, moves)
    rate = turning @ axis
    first = rate[moves[0].begin : moves[0].end]
    if float(first.sum()) < 0:
        rate, axis = -rate, -axis
    moving = np.zeros(count, dtype=bool)
    for move in moves:
        moving[move.begin : move.end] = True
    rate = np.where(moving, rate, 0.0)
    angle = np.concatenate(([0.0], np.cumsum((rate[1:] + rate[:-1]) / 2))) * step_s
    across = turning - np.outer(turning @ axis, axis)
    off_axis = tuple(
        float(np.linalg.norm(np.cumsum(across[m.begin : m.end], axis=0), axis=1).max()) * step_s
        for m in moves
    )
    return LeafAngle(
        time_s=time_s,
        rate_rad_s=rate,
        angle_rad=angle,
        moves=moves,
        off_axis_rad=off_axis,
        noise_rad_s=noise,
        bias_rad_s=float(np.linalg.norm(rates[rests[0].begin : rests[0].end].mean(axis=0))),
        step_s=step_s,
        jitter_s=_jitter_s(log.time_s),
    )


def _jitter_s(time_s: Floats) -> float:
    """Standard deviation of a sample's time (s), from the steps between samples.

    The median deviation is 0.6745 standard deviations of a normal distribution, and a step combines
    the scatter of two samples.
    """
    steps = np.diff(time_s)
    return float(np.median(np.abs(steps - np.median(steps)))) / 0.6745 / math.sqrt(2)


def _rest_windows(rates: Floats, window: int) -> tuple[NDArray[np.bool_], float]:
    """Finds the windows at rest, and the noise of one sample about one axis (rad/s).

    A log begins at rest, so its first window gives the bias, which is then followed.
    """
    windows = len(rates) // window
    parts = rates[: windows * window].reshape(windows, window, 3)
    means, spreads = parts.mean(axis=1), np.sqrt(parts.var(axis=1, ddof=1).mean(axis=1))
    noise = float(np.percentile(spreads, 10))
    quiet = spreads < 2.0 * noise + _QUIET_FLOOR_RAD_S
    quiet &= np.linalg.norm(means, axis=1) < MOST_BIAS_RAD_S
    at_rest = np.zeros(windows, dtype=bool)
    reach = STILL_RAD_S + 3.0 * noise / math.sqrt(window)
    bias = means[0].copy()
    for nth in range(windows):
        if quiet[nth] and float(np.linalg.norm(means[nth] - bias)) < reach:
            at_rest[nth] = True
            bias += _FOLLOW * (means[nth] - bias)
    if at_rest.any():
        noise = float(np.sqrt(np.mean(spreads[at_rest] ** 2)))
    return at_rest, noise


def _stretches(
    at_rest: NDArray[np.bool_], window: int, count: int, least: int
) -> tuple[Stretch, ...]:
    """Rests of at least ``least`` windows, in samples; the remaining samples belong to the last
    window.
    """
    edges = np.flatnonzero(np.diff(np.concatenate(([0], at_rest.view(np.int8), [0]))))
    found = [
        Stretch(int(begin) * window, int(end) * window)
        for begin, end in zip(edges[::2], edges[1::2], strict=True)
        if end - begin >= least
    ]
    if found and found[-1].end == len(at_rest) * window:
        found[-1] = Stretch(found[-1].begin, count)
    return tuple(found)


def _refuse_without_rest(rests: tuple[Stretch, ...], time_s: Floats) -> None:
    way_out = "start the log two seconds before the leaf moves, and stop it two seconds after"
    if not rests or rests[0].begin > 0 or time_s[rests[0].end - 1] < FIRST_REST_S * 0.7:
        raise MotionError(
            "the log does not begin with the leaf at rest", fault="no_rest_before", way_out=way_out
        )
    if rests[-1].end < len(time_s) or time_s[-1] - time_s[rests[-1].begin] < FIRST_REST_S * 0.7:
        raise MotionError(
            "the log does not end with the leaf at rest", fault="no_rest_after", way_out=way_out
        )


def _moves(rests: tuple[Stretch, ...], window: int, count: int) -> tuple[Stretch, ...]:
    """Movements between rests, extended by a window at both ends because they begin slowly."""
    return tuple(
        Stretch(max(0, one.end - window), min(count, other.begin + window))
        for one, other in pairwise(rests)
    )


def _refuse_gaps(log: RotationLog, moves: tuple[Stretch, ...], time_s: Floats) -> None:
    steps = np.diff(log.time_s)
    for nth in np.flatnonzero(steps > MOST_GAP_S):
        begin_s, end_s = float(log.time_s[nth]), float(log.time_s[nth + 1])
        for move in moves:
            if begin_s < time_s[move.end - 1] and end_s > time_s[move.begin]:
                raise MotionError(
                    f"no samples from {begin_s:.2f} to {end_s:.2f} s, while the leaf moved",
                    fault="gap",
                    way_out="keep the screen on and other apps closed, and log the cycle again",
                )


def _bias(rests: tuple[Stretch, ...], rates: Floats, time_s: Floats, window: int) -> Floats:
    """The bias at each sample, shape (n, 3): interpolated linearly between rests.

    The ends of a long rest are left out, because the leaf may still creep.
    """
    at_s: list[float] = []
    values: list[Floats] = []
    for rest in rests:
        margin = window // 2 if rest.end - rest.begin > 3 * window else 0
        begin, end = rest.begin + margin, rest.end - margin
        pieces = max(1, round((end - begin) * float(time_s[1]) / REST_PIECE_S))
        for one, other in pairwise(np.linspace(begin, end, pieces + 1).astype(int)):
            at_s.append(float(time_s[one : int(other)].mean()))
            values.append(rates[one : int(other)].mean(axis=0))
    known = np.array(values)
    return np.column_stack([np.interp(time_s, at_s, known[:, k]) for k in range(3)])


def _axis(turning: Floats, moves: tuple[Stretch, ...]) -> Floats:
    """The unit vector about which the movements turn, shape (3,)."""
    moved = np.concatenate([turning[move.begin : move.end] for move in moves])
    _, vectors = np.linalg.eigh(moved.T @ moved)
    axis: Floats = vectors[:, -1]
    return axis
