"""A hand next to a ramp leaves its mark in the speed; a drive that kicks and brakes does not."""

from __future__ import annotations

import math

import numpy as np
import pytest

from handsfree.motion.measure import measure
from handsfree.motion.motion_record import CycleMotion
from handsfree.rehearsal.cycle import Cycle
from handsfree.rehearsal.drive import Drive
from handsfree.rehearsal.leaf_body import Body
from handsfree.rehearsal.leaf_motion import run_cycle
from handsfree.rehearsal.phone_on_leaf import Phone, Push, swung

PHONES = [
    Phone(),
    Phone(rate_hz=50),
    Phone(rate_hz=500, noise_deg_s=0.18, jitter_s=0.0003),
    Phone(noise_deg_s=0.25, jitter_s=0.004),
]
REST_S = 2.0


def cycle_of(kick: float, ramp_s: float) -> Cycle:
    return run_cycle(
        Body(width_m=0.914, height_m=2.13, mass_kg=68),
        Drive(
            opening_rad_s=math.radians(22),
            backcheck_rad_s=math.radians(7),
            backcheck_rad=math.radians(70),
            closing_rad_s=math.radians(20),
            latching_rad_s=math.radians(6),
            hold_s=5.0,
            kick=kick,
            ramp_s=ramp_s,
        ),
        trace_every=1,
    )


def measured(cycle: Cycle, phone: Phone = PHONES[0], push: Push | None = None) -> CycleMotion:
    log, _ = swung([cycle], phone, np.random.default_rng(4), rest_s=REST_S, push=push)
    (found,) = measure(log).cycles
    return found


@pytest.mark.parametrize("phone", PHONES)
@pytest.mark.parametrize("kick", [1.0, 1.3, 1.6])
@pytest.mark.parametrize("ramp_s", [0.15, 0.5])
def test_a_drive_alone_is_not_flagged(phone: Phone, kick: float, ramp_s: float) -> None:
    assert measured(cycle_of(kick, ramp_s), phone).flags == ()


@pytest.mark.parametrize("share", [0.3, 0.6])
@pytest.mark.parametrize("after_s", [0.5, 0.8])
@pytest.mark.parametrize("travel", ["opening", "closing"])
def test_a_push_during_the_ramp_is_flagged(share: float, after_s: float, travel: str) -> None:
    cycle = cycle_of(1.0, 0.5)
    begins_s = cycle.starts_s if travel == "opening" else cycle.closes_s
    assert begins_s is not None
    push = Push(at_s=REST_S + begins_s + after_s, share=share, seconds=0.3)
    assert measured(cycle, push=push).flags == ("uneven speed",)


@pytest.mark.parametrize("share", [-0.16, -0.2])
def test_a_hold_where_a_hard_ramp_ends_is_flagged(share: float) -> None:
    """The speed falls from the kick in one stroke, and with a hand before the leaf in two."""
    cycle = cycle_of(1.6, 0.3)
    assert cycle.starts_s is not None
    push = Push(at_s=REST_S + cycle.starts_s + 0.85, share=share, seconds=0.2)
    assert measured(cycle, push=push).flags == ("uneven speed",)
