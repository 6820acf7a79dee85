"""The moving leaf, compared with scipy's integrator, closed forms, and the checks' physics."""

from __future__ import annotations

import math

import numpy as np
import pytest
import scipy
from hypothesis import given, settings
from hypothesis import strategies as st

from handsfree.checks.energy import energy_j
from handsfree.rehearsal.cycle import Obstacle
from handsfree.rehearsal.drive import Drive, Phase, slope
from handsfree.rehearsal.leaf_body import Body
from handsfree.rehearsal.leaf_motion import (
    BEGINS_RAD,
    MOST_S,
    NINETY_RAD,
    OPEN_RAD,
    SHUT_RAD,
    TEN_RAD,
    run_cycle,
)

BODY = Body(width_m=0.914, height_m=2.134, mass_kg=68.0, air_pa=4.0, friction_nm=3.0)
DRIVE = Drive(
    opening_rad_s=math.radians(19),
    backcheck_rad_s=math.radians(7),
    closing_rad_s=math.radians(17),
    latching_rad_s=math.radians(4),
    hold_s=6.0,
)
HEAVY = BODY.model_copy(update={"mass_kg": 110.0, "bind_nm": 12.0, "spring_nm": 14.0})
WIDE = BODY.model_copy(update={"open_rad": math.radians(105), "air_pa": -3.0})


def reference(body: Body, drive: Drive, phase: Phase, start: float, stop: float, marks):
    """scipy's solution of one phase, and the times at which it passes each of the angles."""
    sign = 1.0 if phase == "opening" else -1.0

    def ended(_, y):
        return sign * (y[0] - stop)

    ended.terminal, ended.direction = True, 1.0
    events = [ended]
    for mark in marks:

        def passes(_, y, mark=mark):
            return sign * (y[0] - mark)

        passes.direction = 1.0
        events.append(passes)
    found = scipy.integrate.solve_ivp(
        lambda _, y: slope(body, drive, phase, tuple(y)),
        (0.0, MOST_S),
        (start, 0.0, 0.0, 0.0),
        method="RK45",
        events=events,
        max_step=0.01,
        rtol=1e-7,
        atol=1e-9,
    )
    assert found.status == 1, "scipy's leaf did not get there"
    return found, [times[0] for times in found.t_events]


@pytest.mark.slow
@pytest.mark.parametrize("body", [BODY, HEAVY, WIDE], ids=["usual", "heavy, binds", "wide"])
def test_times_and_energies_are_those_of_scipy(body):
    cycle = run_cycle(body, DRIVE)
    opening, (open_s, starts_s, backcheck_s) = reference(
        *(body, DRIVE, "opening", 0.0, body.open_rad - OPEN_RAD),
        (BEGINS_RAD, DRIVE.backcheck_rad),
    )
    assert cycle.opening_time_s == pytest.approx(backcheck_s - starts_s, abs=0.01)
    assert cycle.total_opening_time_s == pytest.approx(open_s - starts_s, abs=0.01)
    peak = body.energy_j(float(np.abs(opening.y[1]).max()))
    assert cycle.opening_peak_j == pytest.approx(peak, rel=0.005)

    ninety = min(NINETY_RAD, body.open_rad - OPEN_RAD)
    closing, (shut_s, ninety_s, ten_s) = reference(
        body, DRIVE, "closing", body.open_rad, SHUT_RAD, (ninety, TEN_RAD)
    )
    assert cycle.closing_time_s == pytest.approx(ten_s - ninety_s, abs=0.01)
    assert cycle.latching_time_s == pytest.approx(shut_s - ten_s, abs=0.01)
    peak = body.energy_j(float(np.abs(closing.y[1]).max()))
    assert cycle.closing_peak_j == pytest.approx(peak, rel=0.005)


def test_work_in_is_energy_and_losses():
    """The first law: what the motor gives is kinetic energy and what the loads took."""
    found, _ = reference(HEAVY, DRIVE, "opening", 0.0, HEAVY.open_rad - OPEN_RAD, ())
    power = []
    for state in map(tuple, found.y.T):
        change = slope(HEAVY, DRIVE, "opening", state)[2]
        motor, _ = DRIVE.torque(HEAVY, state, change)
        theta, omega = state[:2]
        closer = HEAVY.spring_nm + HEAVY.spring_nm_rad * theta
        air = HEAVY.air_pa * HEAVY.height_m * HEAVY.width_m**2 / 2 * math.cos(theta)
        rubs = math.copysign(HEAVY.dry(theta), omega) * math.tanh(abs(omega) / 0.01)
        power.append((motor - closer - air - rubs - HEAVY.damping_nm_s * omega) * omega)
    gained = np.trapezoid(power, found.t)
    assert gained == pytest.approx(HEAVY.energy_j(found.y[1][-1]), rel=0.01)


def test_an_unloaded_leaf_keeps_the_times_of_its_trapezium():
    """Closed form: an angle at a speed, and half a ramp more."""
    free = Body(
        width_m=0.9,
        height_m=2.1,
        mass_kg=60.0,
        friction_nm=0.0,
        damping_nm_s=0.0,
        spring_nm=0.0,
        spring_nm_rad=0.0,
    )
    cycle = run_cycle(free, DRIVE)
    expected = DRIVE.backcheck_rad / DRIVE.opening_rad_s + DRIVE.ramp_s / 2
    seen_late = math.sqrt(2 * BEGINS_RAD * DRIVE.ramp_s / DRIVE.opening_rad_s)
    assert cycle.opening_time_s == pytest.approx(expected - seen_late, abs=0.03)
    assert cycle.hold_open_time_s == pytest.approx(DRIVE.hold_s, abs=0.25)


def test_the_peak_follows_from_time_and_ramp():
    """A trapezium of speed with one ramp has its mean at 1 - share / 2 of its peak (derived)."""
    cycle = run_cycle(BODY, DRIVE)
    time_s = cycle.backcheck_s  # from where it really starts, before an eye sees it
    mean_j = energy_j(BODY.inertia_kg_m2, math.degrees(DRIVE.backcheck_rad), time_s)
    share = DRIVE.ramp_s / time_s  # one ramp only: it brakes after the backcheck begins
    assert cycle.opening_peak_j == pytest.approx(mean_j / (1 - share / 2) ** 2, rel=0.02)


def test_a_hard_ramp_hides_in_the_time():
    kicked = DRIVE.model_copy(update={"kick": 1.6, "ramp_s": 0.12})
    plain, hard = run_cycle(BODY, DRIVE), run_cycle(BODY, kicked)
    assert hard.opening_peak_j > 2.2 * plain.opening_peak_j
    assert hard.opening_time_s > 0.8 * plain.opening_time_s


@pytest.mark.parametrize("phase", ["opening", "closing"])
def test_a_gauge_reads_what_the_motor_has_left(phase):
    cycle = run_cycle(BODY, DRIVE, obstacle=Obstacle(at_rad=math.radians(40), phase=phase))
    at = math.radians(40)
    still = BODY.spring(at) + BODY.air(at)
    limit = DRIVE.opening_limit_nm - still if phase == "opening" else DRIVE.closing_limit_nm + still
    assert cycle.push_n == pytest.approx(limit / BODY.gauge_m, abs=BODY.friction_nm / BODY.gauge_m)
    assert cycle.blow_n > cycle.push_n


@pytest.mark.parametrize("phase", ["opening", "closing"])
def test_a_sensor_keeps_the_leaf_from_what_it_sees(phase):
    board = Obstacle(at_rad=math.radians(40), phase=phase, seen=True)
    seen = run_cycle(BODY, DRIVE, obstacle=board)
    assert seen.by_sensor
    assert seen.blow_n == 0.0
    dead = run_cycle(BODY, DRIVE, obstacle=board, sensor=False)
    assert not dead.by_sensor
    assert dead.blow_n > 0.0


def test_a_reversed_motor_opens_nothing():
    assert run_cycle(BODY, DRIVE.model_copy(update={"reversed": True})).end == "did not open"


def test_a_gasket_that_is_too_stiff_keeps_it_from_shutting():
    stiff = BODY.model_copy(update={"gasket_nm": 80.0})
    cycle = run_cycle(stiff, DRIVE)
    assert cycle.end == "did not shut"
    assert cycle.reopened == 1
    assert cycle.shut_s is None


def test_the_step_hardly_matters():
    coarse, fine = run_cycle(HEAVY, DRIVE), run_cycle(HEAVY, DRIVE, step_s=0.002)
    for name in ("opening", "total_opening", "hold_open", "closing", "latching"):
        at = f"{name}_time_s"
        assert getattr(coarse, at) == pytest.approx(getattr(fine, at), abs=0.012), name


bodies = st.builds(
    Body,
    width_m=st.floats(0.45, 1.53),
    height_m=st.floats(1.5, 3.7),
    mass_kg=st.floats(14, 320),
    open_rad=st.floats(1.22, 3.14),
    friction_nm=st.floats(0, 30),
    damping_nm_s=st.floats(0, 20),
    spring_nm=st.floats(0, 60),
    spring_nm_rad=st.floats(0, 40),
    bind_nm=st.floats(0, 100),
    air_pa=st.floats(-40, 40),
    gasket_nm=st.floats(0, 200),
)
drives = st.builds(
    Drive,
    opening_rad_s=st.floats(0.017, 2.0),
    backcheck_rad_s=st.floats(0.017, 2.0),
    closing_rad_s=st.floats(0.017, 2.0),
    latching_rad_s=st.floats(0.017, 2.0),
    hold_s=st.floats(0, 60),
    backcheck_rad=st.floats(0.78, 1.48),
    ramp_s=st.floats(0.05, 2.0),
    kick=st.floats(1.0, 8.0),
    opening_limit_nm=st.floats(1, 300),
    closing_limit_nm=st.floats(1, 300),
    reversed=st.booleans(),
)
obstacles = st.none() | st.builds(
    Obstacle,
    at_rad=st.floats(0.01, 1.5),
    phase=st.sampled_from(["opening", "closing"]),
    seen=st.booleans(),
)


@pytest.mark.slow
@settings(max_examples=40)
@given(bodies, drives, obstacles, st.booleans())
def test_whatever_the_door_is_it_ends_and_stays_between_frame_and_stop(body, drive, way, sensor):
    cycle = run_cycle(body, drive, obstacle=way, sensor=sensor, step_s=0.02)
    assert cycle.end in ("shut", "did not open", "did not shut", "out of time")
    last_s, _ = cycle.trace[-1]
    assert last_s <= MOST_S + 2 * drive.hold_s + 10
    for at_s, angle in cycle.trace:
        assert math.isfinite(at_s)
        assert -0.001 <= angle <= math.degrees(body.open_rad) + 0.001
    assert math.isfinite(cycle.opening_peak_j) and math.isfinite(cycle.push_n)
