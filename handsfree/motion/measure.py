"""Measures a leaf from a log of rotation rates: times, angles and speeds of each cycle.

Their uncertainties come from ``swing_uncertainty.py``.
"""

from __future__ import annotations

import math

import numpy as np

from handsfree.errors import MotionError
from handsfree.job.quantity import Quantity
from handsfree.motion.leaf_angle import BIAS_SD_RAD_S, LeafAngle, leaf_angle
from handsfree.motion.leaf_cycles import (
    BEGINS_DEG,
    OPEN_WITHIN_DEG,
    PEAK_WINDOW_S,
    SHUT_DEG,
    Swing,
    backcheck_s,
    crossing_s,
    first_crossing,
    last_crossing,
    swings,
)
from handsfree.motion.motion_record import (
    Angle,
    CycleMotion,
    MeasuredMotion,
    PassedMoment,
    TimedSpan,
    TopSpeed,
)
from handsfree.motion.rotation_log import RotationLog
from handsfree.motion.smooth import Floats, noise_gain, smoothed
from handsfree.motion.swing_uncertainty import (
    KNEE_SD_S,
    KNOWN_ANGLE_SD_DEG,
    SCALE_SD,
    SwingUncertainty,
)
from handsfree.timing.cycle import SPANS, Moment

_CURVE_HZ = 50.0
_NINETY_DEG, _EIGHTY_DEG, _TEN_DEG = 90.0, 80.0, 10.0
_LAST_DEG = 2.0
_LEVELS = 3
"""Number of times the level about a peak is refined."""


def measure(
    log: RotationLog, *, open_angle_deg: float | None = None, cycles: int | None = None
) -> MeasuredMotion:
    """The cycles in a log.

    ``open_angle_deg`` is the fully open angle as measured with a square, which removes the scale
    error of the gyroscope. ``cycles`` is their expected number. Raises MotionError for a log
    without a cycle or with another number of cycles, and the errors of ``leaf_angle``.
    """
    leaf = leaf_angle(log)
    found = swings(leaf, _closure_doubt_deg(leaf))
    if not found:
        raise MotionError(
            "no cycle in this log", fault="no_cycle", way_out="log the leaf from closed to closed"
        )
    if cycles is not None and len(found) != cycles:
        at = ", ".join(f"{swing.time_s[0]:.0f} s" for swing in found)
        noun = "cycle" if len(found) == 1 else "cycles"
        raise MotionError(
            f"{len(found)} {noun} found, {cycles} expected; begun at {at}",
            fault="no_cycle",
            way_out="say how many there were with --cycles, or log again",
        )
    scale, scale_sd = _scale(found, open_angle_deg)
    found = tuple(_scaled(swing, scale) for swing in found)
    every = max(1, round(1 / _CURVE_HZ / leaf.step_s))
    angle, rate = np.degrees(leaf.angle_rad) * scale, np.degrees(leaf.rate_rad_s) * scale
    curve = np.column_stack((leaf.time_s, angle, rate))[::every]
    return MeasuredMotion(
        rate_hz=round(log.rate_hz, 2),
        noise_deg_s=math.degrees(leaf.noise_rad_s),
        bias_deg_s=math.degrees(leaf.bias_rad_s),
        scale=scale,
        scale_uncertainty=scale_sd,
        cycles=tuple(_cycle(swing, scale_sd) for swing in found),
        curve=tuple((round(t, 3), round(a, 2), round(r, 2)) for t, a, r in curve.tolist()),
    )


def _closure_doubt_deg(leaf: LeafAngle) -> float:
    moving_s = max((move.end - move.begin) * leaf.step_s for move in leaf.moves) * 3
    walk = leaf.noise_rad_s * math.sqrt(leaf.step_s * moving_s)
    return math.degrees(math.hypot(walk, BIAS_SD_RAD_S * moving_s))


def _scale(found: tuple[Swing, ...], open_angle_deg: float | None) -> tuple[float, float]:
    if open_angle_deg is None:
        return 1.0, SCALE_SD
    opened = [swing.open_deg for swing in found if swing.closure_deg is not None]
    if not opened:
        raise MotionError(
            "no cycle ends closed, so the known angle cannot be used",
            fault="no_cycle",
            way_out="log a cycle from closed to closed, or leave the angle out",
        )
    scale = open_angle_deg / float(np.mean(opened))
    if abs(scale - 1) > 0.1:
        raise MotionError(
            f"the leaf turned {np.mean(opened):.1f} degrees by the phone, and "
            f"{open_angle_deg:g} by the square",
            fault="other_angle",
            way_out="measure the fully open angle again, from closed to where the leaf rests",
        )
    return scale, KNOWN_ANGLE_SD_DEG / open_angle_deg


def _scaled(swing: Swing, scale: float) -> Swing:
    return swing._replace(
        angle_deg=swing.angle_deg * scale,
        rate_deg_s=swing.rate_deg_s * scale,
        open_deg=swing.open_deg * scale,
        noise_deg_s=swing.noise_deg_s * scale,
    )


def _cycle(swing: Swing, scale_sd: float) -> CycleMotion:
    moments: dict[Moment, PassedMoment] = {}
    doubt = SwingUncertainty(swing, scale_sd)
    knee_s = backcheck_s(swing)
    whole = not {"did not close", "did not open"} & set(swing.flags)
    ninety: PassedMoment | None = None
    if whole:
        _opening(swing, doubt, knee_s, moments)
        ninety = _closing(swing, doubt, moments)
    backcheck = None
    if knee_s is not None:
        at = float(np.interp(knee_s, swing.time_s, swing.angle_deg))
        speed = float(np.interp(knee_s, swing.time_s, swing.rate_deg_s))
        backcheck = Angle(
            degrees=at, uncertainty_deg=math.hypot(doubt.angle_deg(knee_s, at), KNEE_SD_S * speed)
        )
    opened = Angle(
        degrees=swing.open_deg,
        uncertainty_deg=doubt.angle_deg(float(swing.time_s[swing.top]), swing.open_deg),
    )
    return CycleMotion(
        begins_s=float(swing.time_s[0]),
        ends_s=float(swing.time_s[-1]),
        moments=tuple(moments[each] for each in Moment if each in moments),
        times=_times(moments, ninety),
        open_angle=opened,
        backcheck=backcheck,
        opening=_top_speed(swing, 0, swing.top, scale_sd),
        closing=_top_speed(swing, swing.top, len(swing.time_s), scale_sd),
        latch_speed_deg_s=_latch_speed(swing),
        closure_deg=swing.closure_deg or 0.0,
        flags=swing.flags,
    )


def _opening(
    swing: Swing, doubt: SwingUncertainty, knee_s: float | None, moments: dict[Moment, PassedMoment]
) -> None:
    near = doubt.local_deg(OPEN_WITHIN_DEG)
    begins = first_crossing(swing, BEGINS_DEG)
    opened = first_crossing(swing, swing.open_deg - OPEN_WITHIN_DEG)
    if begins is None or opened is None:
        return
    _put(moments, Moment.STARTS_TO_MOVE, swing, begins, BEGINS_DEG, doubt, near)
    _put(moments, Moment.FULLY_OPEN, swing, opened, swing.open_deg - OPEN_WITHIN_DEG, doubt, near)
    ends = first_crossing(swing, _EIGHTY_DEG)
    if ends is not None and swing.open_deg > _EIGHTY_DEG + OPEN_WITHIN_DEG:
        at_s = crossing_s(swing, ends, _EIGHTY_DEG)
        sd = doubt.crossing_s(at_s, doubt.angle_deg(at_s, _EIGHTY_DEG))
        moments[Moment.BACKCHECK] = PassedMoment(
            moment=Moment.BACKCHECK, at_s=at_s, angle_deg=_EIGHTY_DEG, uncertainty_s=sd
        )
    eighty = moments.get(Moment.BACKCHECK)
    if knee_s is not None and (eighty is None or knee_s < eighty.at_s):
        angle = float(np.interp(knee_s, swing.time_s, swing.angle_deg))
        moments[Moment.BACKCHECK] = PassedMoment(
            moment=Moment.BACKCHECK,
            at_s=knee_s,
            angle_deg=angle,
            uncertainty_s=math.hypot(KNEE_SD_S, doubt.sampling_s()),
        )


def _closing(
    swing: Swing, doubt: SwingUncertainty, moments: dict[Moment, PassedMoment]
) -> PassedMoment | None:
    """Sets the moments of closing; returns the moment that closing is timed from, if that is 90
    degrees.
    """
    near = doubt.local_deg(OPEN_WITHIN_DEG)
    closes = last_crossing(swing, swing.open_deg - OPEN_WITHIN_DEG)
    ten = last_crossing(swing, _TEN_DEG)
    shut = last_crossing(swing, SHUT_DEG)
    if closes is not None:
        level = swing.open_deg - OPEN_WITHIN_DEG
        _put(moments, Moment.STARTS_TO_CLOSE, swing, closes, level, doubt, near)
    if ten is not None:
        at_s = crossing_s(swing, ten, _TEN_DEG)
        sd = doubt.angle_deg(at_s, _TEN_DEG)
        _put(moments, Moment.TEN_DEGREES, swing, ten, _TEN_DEG, doubt, sd)
    if shut is not None:
        _put(moments, Moment.LATCHED, swing, shut, SHUT_DEG, doubt, doubt.local_deg(SHUT_DEG))
    ninety = last_crossing(swing, _NINETY_DEG)
    if ninety is None or swing.open_deg - OPEN_WITHIN_DEG <= _NINETY_DEG:
        return None
    at_s = crossing_s(swing, ninety, _NINETY_DEG)
    sd = doubt.crossing_s(at_s, doubt.angle_deg(at_s, _NINETY_DEG))
    return PassedMoment(
        moment=Moment.STARTS_TO_CLOSE, at_s=at_s, angle_deg=_NINETY_DEG, uncertainty_s=sd
    )


def _put(
    moments: dict[Moment, PassedMoment],
    moment: Moment,
    swing: Swing,
    nth: int,
    level: float,
    doubt: SwingUncertainty,
    angle_sd: float,
) -> None:
    at_s = crossing_s(swing, nth, level)
    moments[moment] = PassedMoment(
        moment=moment,
        at_s=at_s,
        angle_deg=level,
        uncertainty_s=doubt.crossing_s(at_s, angle_sd),
    )


def _times(
    moments: dict[Moment, PassedMoment], ninety: PassedMoment | None
) -> tuple[TimedSpan, ...]:
    found = []
    for quantity, (begin, end) in SPANS.items():
        one, other = moments.get(begin), moments.get(end)
        if quantity is Quantity.CLOSING_TIME and ninety is not None:
            one = ninety
        if one is not None and other is not None:
            sd = math.hypot(one.uncertainty_s, other.uncertainty_s)
            seconds = other.at_s - one.at_s
            found.append(TimedSpan(quantity=quantity, seconds=seconds, uncertainty_s=sd))
    return tuple(found)


def _top_speed(swing: Swing, begin: int, end: int, scale_sd: float) -> TopSpeed | None:
    """The largest smoothed speed of a movement, excluding the knock at its end."""
    speed = np.abs(smoothed(swing.rate_deg_s, swing.step_s, PEAK_WINDOW_S))[begin:end]
    angle = swing.angle_deg[begin:end]
    inside = np.flatnonzero((angle > _LAST_DEG / 2) & (angle < swing.open_deg - OPEN_WITHIN_DEG))
    if not len(inside):
        return None
    nth = int(inside[int(np.argmax(speed[inside]))])
    noise = swing.noise_deg_s * noise_gain(swing.step_s, PEAK_WINDOW_S)
    top = _level_about(speed, nth, noise)
    return TopSpeed(
        speed_deg_s=top,
        angle_deg=float(angle[nth]),
        at_s=float(swing.time_s[begin + nth]),
        relative_uncertainty=math.hypot(scale_sd, noise / top if top else 0.0),
    )


def _level_about(speed: Floats, nth: int, noise: float) -> float:
    """The mean of the speeds near a peak that differ from it only by noise.

    The largest of many noisy values is too large; the mean of those that could be equal is less so,
    and the mean of those that could be equal to that mean is nearly right.
    """
    level = float(speed[nth])
    for _ in range(_LEVELS):
        lower = np.flatnonzero(speed < level - 2.5 * noise)
        before, after = lower[lower < nth], lower[lower > nth]
        begin = int(before[-1]) + 1 if len(before) else 0
        end = int(after[0]) if len(after) else len(speed)
        level = float(speed[begin:end].mean())
    return level


def _latch_speed(swing: Swing) -> float | None:
    """The largest speed in the last two degrees before the leaf is latched (degrees per second)."""
    shut = last_crossing(swing, SHUT_DEG)
    if shut is None or swing.closure_deg is None:
        return None
    closing = np.arange(len(swing.time_s)) >= swing.top
    last = closing & (swing.angle_deg < _LAST_DEG) & (np.arange(len(swing.time_s)) <= shut)
    speed = -smoothed(swing.rate_deg_s, swing.step_s, 0.05)[last]
    return float(speed.max()) if len(speed) else None
