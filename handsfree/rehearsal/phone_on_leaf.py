"""A simulated phone taped to a simulated leaf, and the log of rotation rates that it writes.

The errors are those of a consumer gyroscope (ranges from data sheets of small parts, from memory):
white noise, a drifting bias, a scale error of a percent, any mounting direction, late samples.
Mishaps on site can be added: the phone slips, a hand pushes the leaf, the log begins too late.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from handsfree.job.record import Record
from handsfree.motion.rotation_log import RotationLog
from handsfree.rehearsal.cycle import Cycle
from handsfree.rehearsal.leaf_motion import OPEN_RAD

Floats = NDArray[np.float64]

_FINE_S = 0.002
_SETTLES_DEG = math.degrees(OPEN_RAD)
_KNOCK_S = 0.03


class Phone(Record):
    """A phone's gyroscope and how it sits on the leaf.

    ``noise_deg_s`` is the standard deviation of one sample of one axis, ``bias_deg_s`` that of each
    axis's bias, ``drift_deg_s_min`` that of its drift in a minute, as with temperature,
    ``scale_sd`` that of the relative scale error, ``jitter_s`` that of a sample's time.
    ``scale_error`` is this phone's own relative scale error; None draws one.
    """

    rate_hz: float = 100.0
    noise_deg_s: float = 0.08
    bias_deg_s: float = 0.4
    drift_deg_s_min: float = 0.05
    scale_sd: float = 0.01
    jitter_s: float = 0.001
    scale_error: float | None = None


class Slip(Record):
    """A slip: the phone turns on the leaf by ``degrees`` within ``seconds``."""

    at_s: float
    degrees: float
    seconds: float


class Push(Record):
    """A hand that speeds the leaf up or slows it down by ``share`` of its speed at about
    ``at_s``.
    """

    at_s: float
    share: float
    seconds: float


class Swung(Record):
    """The true motion behind a log: each cycle's moments in seconds of the log, as in ``Cycle``."""

    starts_s: tuple[float, ...]
    cycles: tuple[Cycle, ...]
    scale: float


def swung(
    cycles: Sequence[Cycle],
    phone: Phone,
    random: np.random.Generator,
    *,
    rest_s: float = 2.0,
    slip: Slip | None = None,
    push: Push | None = None,
    skipped_s: float = 0.0,
) -> tuple[RotationLog, Swung]:
    """The log of cycles one after the other, each with ``rest_s`` before and after it.

    The cycles need fine traces (``run_cycle(..., trace_every=1)``). ``skipped_s`` seconds are cut
    off the start, as in a log that begins too late.
    """
    time_s, angle, starts = _angle_rad(cycles, rest_s)
    if push is not None:
        time_s = _pushed(time_s, push)
    rate = np.gradient(angle, time_s)
    axis, across = _directions(random)
    rates = np.outer(rate, axis)
    at_s = _sample_times(float(time_s[-1]), phone, random)
    seen = np.column_stack([np.interp(at_s, time_s, rates[:, k]) for k in range(3)])
    if slip is not None:
        seen = _slipped(seen, at_s, slip, across)
    drawn = float(random.normal(0.0, phone.scale_sd))
    scale = 1.0 + (drawn if phone.scale_error is None else phone.scale_error)
    bias = random.normal(0.0, phone.bias_deg_s, 3)
    drift = random.normal(0.0, phone.drift_deg_s_min, 3) / 60.0
    wander = bias + np.outer(at_s, drift)
    noise = random.normal(0.0, phone.noise_deg_s, seen.shape)
    seen = seen * scale + np.radians(wander + noise)
    written_s = at_s + random.normal(0.0, phone.jitter_s, len(at_s))
    keep = at_s >= skipped_s
    written_s, order = np.sort(written_s[keep]), np.argsort(written_s[keep])
    log = RotationLog(written_s - written_s[0], seen[keep][order])
    return log, Swung(starts_s=starts, cycles=tuple(cycles), scale=scale)


def _angle_rad(cycles: Sequence[Cycle], rest_s: float) -> tuple[Floats, Floats, tuple[float, ...]]:
    """Times and angles of all cycles with their rests, finely spaced, and the start of each
    cycle.
    """
    at: list[float] = [0.0]
    angle: list[float] = [0.0]
    starts = []
    for cycle in cycles:
        begin = at[-1] + rest_s
        starts.append(begin)
        for time_s, degrees in _settled(cycle):
            at.append(begin + time_s)
            angle.append(math.radians(degrees))
        if cycle.end == "shut":
            at.append(at[-1] + _KNOCK_S)
            angle.append(0.0)
        at.append(at[-1] + rest_s)
        angle.append(angle[-1])
    fine = np.arange(0.0, at[-1], _FINE_S)
    return fine, np.interp(fine, at, angle), tuple(starts)


def _settled(cycle: Cycle) -> list[tuple[float, float]]:
    """The trace, with the leaf slowing down evenly over the last half degree before its stop.

    The simulation makes it jump there, which no observer would notice.
    """
    points = [(0.0, 0.0)]
    for time_s, degrees in cycle.trace:
        last_s, last_deg = points[-1]
        if time_s <= last_s:
            continue
        if cycle.open_s is not None and last_s <= cycle.open_s < time_s:
            begin_deg = degrees - _SETTLES_DEG
            speed = max(1.0, (begin_deg - last_deg) / max(cycle.open_s - last_s, 1e-3))
            takes_s = 2 * _SETTLES_DEG / min(speed, 60.0)
            for share in np.linspace(0.0, 1.0, 12).tolist():
                at_s = cycle.open_s + share * takes_s
                points.append((at_s, begin_deg + _SETTLES_DEG * share * (2 - share)))
            continue
        points.append((time_s, degrees))
    return points


def _pushed(time_s: Floats, push: Push) -> Floats:
    """Times at which the leaf reaches each angle if it is faster or slower for a while."""
    bump = push.share * np.exp(-(((time_s - push.at_s) / push.seconds) ** 2))
    steps = np.diff(time_s) / (1.0 + bump[1:])
    out: Floats = np.concatenate(([0.0], np.cumsum(steps)))
    return out


def _directions(random: np.random.Generator) -> tuple[Floats, Floats]:
    """A random direction of the hinge in the phone's frame, and one perpendicular to it."""
    axis = random.normal(size=3)
    axis /= np.linalg.norm(axis)
    across = np.cross(axis, random.normal(size=3))
    return axis, across / np.linalg.norm(across)


def _sample_times(end_s: float, phone: Phone, random: np.random.Generator) -> Floats:
    step = 1.0 / phone.rate_hz
    out: Floats = np.arange(random.uniform(0, step), end_s, step)
    return out


def _slipped(rates: Floats, at_s: Floats, slip: Slip, axis: Floats) -> Floats:
    """The rates seen by a phone that turns on the leaf about ``axis`` (Rodrigues' rotation)."""
    share = np.clip((at_s - slip.at_s) / slip.seconds, 0.0, 1.0)
    turned = -math.radians(slip.degrees) * share
    cos, sin = np.cos(turned)[:, None], np.sin(turned)[:, None]
    along = np.outer(rates @ axis, axis)
    out = (
        rates * cos + np.cross(np.broadcast_to(axis, rates.shape), rates) * sin + along * (1 - cos)
    )
    own = np.where((share > 0) & (share < 1), math.radians(slip.degrees) / slip.seconds, 0.0)
    result: Floats = out + np.outer(own, axis)
    return result
