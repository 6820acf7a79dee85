"""The simulated phone: its errors have the given size, and the mishaps happen."""

from __future__ import annotations

import math

import numpy as np
import pytest

from handsfree.errors import MotionError
from handsfree.motion.measure import measure
from handsfree.rehearsal.drive import Drive
from handsfree.rehearsal.leaf_body import Body
from handsfree.rehearsal.leaf_motion import run_cycle
from handsfree.rehearsal.phone_on_leaf import Phone, Push, Slip, swung

CYCLE = run_cycle(
    Body(width_m=0.914, height_m=2.13, mass_kg=68),
    Drive(
        opening_rad_s=math.radians(20),
        backcheck_rad_s=math.radians(7),
        closing_rad_s=math.radians(18),
        latching_rad_s=math.radians(6),
        hold_s=5.0,
    ),
    trace_every=1,
)
PERFECT = Phone(noise_deg_s=0.001, bias_deg_s=0, drift_deg_s_min=0, scale_sd=0, jitter_s=0)


def random(seed: int = 1) -> np.random.Generator:
    return np.random.default_rng(seed)


def test_a_perfect_phone_turns_as_far_as_the_leaf() -> None:
    log, truth = swung([CYCLE], PERFECT, random())
    rate = np.linalg.norm(log.rates_rad_s, axis=1)
    turned = math.degrees(float(rate.sum()) / log.rate_hz)
    assert turned == pytest.approx(2 * CYCLE.widest_deg, rel=0.01)
    assert log.rate_hz == pytest.approx(100) and truth.scale == 1.0
    assert truth.starts_s == (2.0,)


def test_noise_and_bias_are_those_of_the_phone() -> None:
    log, _ = swung([CYCLE], Phone(noise_deg_s=0.2, bias_deg_s=1.0, drift_deg_s_min=0), random(3))
    rest = np.degrees(log.rates_rad_s[log.time_s < 1.8])
    assert rest.std(axis=0) == pytest.approx([0.2] * 3, rel=0.25)
    assert np.abs(rest.mean(axis=0)).max() < 4.0 and np.abs(rest.mean(axis=0)).max() > 0.05


@pytest.mark.parametrize("sign", [1, -1])
def test_a_slip_is_seen_as_a_slip(sign: int) -> None:
    log, _ = swung([CYCLE], Phone(), random(), slip=Slip(at_s=4.0, degrees=8.0 * sign, seconds=0.3))
    assert "phone slipped" in measure(log).cycles[0].flags


@pytest.mark.parametrize("share", [0.5, -0.3])
def test_a_push_changes_the_speed_and_not_the_angles(share: float) -> None:
    log, _ = swung([CYCLE], PERFECT, random(), push=Push(at_s=4.0, share=share, seconds=0.3))
    (cycle,) = measure(log).cycles
    assert cycle.flags == ("uneven speed",)
    assert cycle.open_angle is not None
    assert cycle.open_angle.degrees == pytest.approx(CYCLE.widest_deg, abs=0.1)


def test_a_log_that_begins_too_late_is_refused() -> None:
    log, _ = swung([CYCLE], Phone(), random(), skipped_s=2.3)
    with pytest.raises(MotionError, match="at rest"):
        measure(log)


def test_several_cycles_follow_each_other() -> None:
    log, truth = swung([CYCLE, CYCLE], Phone(), random())
    assert len(measure(log, cycles=2).cycles) == 2
    assert truth.starts_s[1] - truth.starts_s[0] > CYCLE.trace[-1][0]
