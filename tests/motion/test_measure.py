"""The measured leaf compared with closed forms, scipy's integrator and rotations, and Monte
Carlo.
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
import scipy
from hypothesis import given, settings
from hypothesis import strategies as st

from handsfree.checks.energy import energy_j, uniform_inertia_kg_m2
from handsfree.errors import MotionError
from handsfree.job.quantity import Quantity
from handsfree.motion.leaf_energy_peak import energy_peaks
from handsfree.motion.measure import measure
from handsfree.motion.motion_record import CycleMotion
from handsfree.motion.rotation_log import RotationLog
from handsfree.motion.swing_uncertainty import KNOWN_ANGLE_SD_DEG, SCALE_SD
from handsfree.timing.cycle import Moment
from tests.motion.closed_form import REST_S, even, log_of_angles, raised_cosine

INERTIA = uniform_inertia_kg_m2(68.0, 0.914)


def one(log: RotationLog) -> CycleMotion:
    (cycle,) = measure(log).cycles
    assert cycle.flags == ()
    return cycle


def seconds(cycle: CycleMotion, quantity: Quantity) -> float:
    found = cycle.time(quantity)
    assert found is not None
    return found.seconds


def test_constant_speed_gives_the_times_of_the_closed_form() -> None:
    """90 degrees in 4.5 s is 20 degrees a second; moments are crossings of a straight line."""
    cycle = one(log_of_angles(even(90, 4.5, 6.0, 5.0), 21.0))
    assert seconds(cycle, Quantity.OPENING_TIME) == pytest.approx((80 - 0.1) / 20, abs=0.01)
    assert seconds(cycle, Quantity.TOTAL_OPENING_TIME) == pytest.approx((89.5 - 0.1) / 20, abs=0.01)
    assert seconds(cycle, Quantity.HOLD_OPEN_TIME) == pytest.approx(
        6 + 0.5 / 20 + 0.5 / 18, abs=0.01
    )
    assert seconds(cycle, Quantity.CLOSING_TIME) == pytest.approx((89.5 - 10) / 18, abs=0.01)
    assert seconds(cycle, Quantity.LATCHING_TIME) == pytest.approx((10 - 0.2) / 18, abs=0.01)
    assert cycle.open_angle is not None and cycle.open_angle.degrees == pytest.approx(90, abs=0.05)
    assert cycle.backcheck is None
    assert cycle.opening is not None and cycle.opening.speed_deg_s == pytest.approx(20, rel=0.002)


def test_even_motion_has_the_energy_of_the_mean_speed() -> None:
    """The table and the formula of a standard take even speed: there they agree with the peak."""
    cycle = one(log_of_angles(even(90, 4.5, 6.0, 4.5), 20.0))
    peak = energy_peaks(cycle, INERTIA, 0.0)[0]
    assert peak.energy_j == pytest.approx(energy_j(INERTIA, 80.0, 4.0), rel=0.005)


def test_a_raised_cosine_exceeds_the_mean_energy_by_the_known_factor() -> None:
    """Peak over mean speed of half a cosine is pi/2, so the energy is (pi/2)^2 = 2.467 times."""
    cycle = one(log_of_angles(raised_cosine(90, 5.0, 6.0, 6.0), 22.0))
    opening, closing = energy_peaks(cycle, INERTIA, 0.0, 0.914)
    factor = (math.pi / 2) ** 2
    assert opening.energy_j == pytest.approx(factor * energy_j(INERTIA, 90.0, 5.0), rel=0.01)
    assert closing.energy_j == pytest.approx(factor * energy_j(INERTIA, 90.0, 6.0), rel=0.01)
    assert opening.angle_deg == pytest.approx(45, abs=3)
    assert opening.edge_speed_m_s == pytest.approx(
        math.radians(90) / 5 * math.pi / 2 * 0.914, rel=0.01
    )
    at_80 = 5.0 / math.pi * math.acos(1 - 80 / 45)
    begins = 5.0 / math.pi * math.acos(1 - 0.1 / 45)
    knee = cycle.moment(Moment.BACKCHECK)
    assert knee is not None
    if knee.angle_deg == 80.0:
        assert knee.at_s - REST_S == pytest.approx(at_80, abs=0.02)
    assert seconds(cycle, Quantity.TOTAL_OPENING_TIME) == pytest.approx(
        5.0 / math.pi * math.acos(1 - 89.5 / 45) - begins, abs=0.02
    )


@pytest.mark.slow
def test_a_spring_with_damping_closes_as_scipys_integrator_says() -> None:
    """I·x'' = -k·x - c·x' from 90 degrees: largest speed, 10 degree moment and closing time."""
    inertia, spring, damping = INERTIA, 9.0, 26.0

    def motion(_: float, state: list[float]) -> list[float]:
        return [state[1], -(spring * (state[0] + 0.12) + damping * state[1]) / inertia]

    def shut(_: float, state: list[float]) -> float:
        return state[0]

    shut.terminal = True  # type: ignore[attr-defined]
    solved = scipy.integrate.solve_ivp(
        motion, (0, 60), [math.pi / 2, 0.0], events=shut, dense_output=True, rtol=1e-9, atol=1e-10
    )
    lasts = float(solved.t_events[0][0])
    begin = REST_S + 4.5 + 6.0

    def angle(time_s: np.ndarray) -> np.ndarray:
        opening = np.interp(time_s, [REST_S, REST_S + 4.5], [0.0, 90.0])
        down = np.degrees(solved.sol(np.clip(time_s - begin, 0, lasts))[0])
        return np.where(time_s < begin, opening, np.where(time_s > begin + lasts, 0.0, down))

    cycle = one(log_of_angles(angle, begin + lasts + 2.5))
    grid = np.linspace(0, lasts, 200_001)
    path, speed = np.degrees(solved.sol(grid)[0]), np.degrees(np.abs(solved.sol(grid)[1]))
    at_10 = grid[np.argmax(path < 10)]
    from_open = grid[np.argmax(path < 89.5)]
    assert seconds(cycle, Quantity.CLOSING_TIME) == pytest.approx(at_10 - from_open, abs=0.02)
    assert cycle.closing is not None
    assert cycle.closing.speed_deg_s == pytest.approx(speed.max(), rel=0.01)


@pytest.mark.slow
def test_the_axis_is_found_in_any_mounting_with_rates_of_scipys_rotations() -> None:
    """Body rates worked out by scipy from orientations, whatever the phone's mounting."""
    angle = raised_cosine(95, 4.0, 5.5, 5.0)
    time_s = np.arange(0, 20, 0.01)
    hinge = np.array([0.05, 0.02, 1.0]) / np.linalg.norm([0.05, 0.02, 1.0])
    for seed in range(4):
        turns = scipy.spatial.transform.Rotation
        mount = turns.random(rng=np.random.default_rng(seed))
        turned = [turns.from_rotvec(math.radians(a) * hinge) * mount for a in angle(time_s)]
        rates = [(one_.inv() * other).as_rotvec() / 0.01 for one_, other in pairwise(turned)]
        noise = np.random.default_rng(seed).normal(0, 1e-5, (len(rates), 3))
        cycle = one(RotationLog(time_s[:-1], np.array(rates) + noise))
        assert cycle.open_angle is not None
        assert cycle.open_angle.degrees == pytest.approx(95, abs=0.1)
        assert seconds(cycle, Quantity.HOLD_OPEN_TIME) == pytest.approx(
            5.5 + _lag(95, 4.0) + _lag(95, 5.0), abs=0.03
        )


def _lag(open_deg: float, lasts: float) -> float:
    """Time that half a cosine takes over its last half degree."""
    return lasts - lasts / math.pi * math.acos(1 - 2 * (open_deg - 0.5) / open_deg)


def test_bias_does_not_turn_the_leaf() -> None:
    plain = one(log_of_angles(raised_cosine(90, 5, 6, 6), 22.0))
    biased = one(log_of_angles(raised_cosine(90, 5, 6, 6), 22.0, bias_deg_s=2.0))
    for quantity in (Quantity.TOTAL_OPENING_TIME, Quantity.CLOSING_TIME, Quantity.LATCHING_TIME):
        assert seconds(biased, quantity) == pytest.approx(seconds(plain, quantity), abs=0.005)


@pytest.mark.slow
@settings(max_examples=15, deadline=None)
@given(
    open_deg=st.floats(80, 110),
    opening_s=st.floats(3.0, 7.0),
    hold_s=st.floats(2.0, 7.0),
    closing_s=st.floats(3.5, 8.0),
    rate_hz=st.sampled_from([50.0, 100.0, 200.0, 500.0]),
)
def test_times_of_any_even_cycle_are_right_within_their_doubt(
    open_deg: float, opening_s: float, hold_s: float, closing_s: float, rate_hz: float
) -> None:
    whole = 2 * REST_S + opening_s + hold_s + closing_s
    angle = even(open_deg, opening_s, hold_s, closing_s)
    cycle = one(log_of_angles(angle, whole, rate_hz=rate_hz, noise_deg_s=0.05))
    found = cycle.time(Quantity.TOTAL_OPENING_TIME)
    assert found is not None
    true = opening_s * (open_deg - 0.6) / open_deg
    assert found.seconds == pytest.approx(true, abs=5 * found.uncertainty_s + 0.004)
    assert cycle.open_angle is not None
    assert cycle.open_angle.degrees == pytest.approx(open_deg, abs=0.3)


def test_a_known_angle_removes_the_scale_error() -> None:
    log = log_of_angles(even(90, 4.5, 6, 5), 21.0)
    wrong = RotationLog(log.time_s, log.rates_rad_s * 1.03)
    measured = measure(wrong, open_angle_deg=90.0)
    assert measured.scale == pytest.approx(1 / 1.03, rel=1e-3)
    assert measured.scale_uncertainty == pytest.approx(KNOWN_ANGLE_SD_DEG / 90)
    assert measured.cycles[0].opening is not None
    assert measured.cycles[0].opening.speed_deg_s == pytest.approx(20.0, rel=0.003)
    assert measure(wrong).scale_uncertainty == SCALE_SD


def test_a_known_angle_far_from_the_log_is_refused() -> None:
    with pytest.raises(MotionError, match="by the square"):
        measure(log_of_angles(even(90, 4.5, 6, 5), 21.0), open_angle_deg=120.0)


def test_each_cycle_of_several_is_found_and_counted() -> None:
    single = even(90, 4.5, 5.5, 5.0)

    def three(time_s: np.ndarray) -> np.ndarray:
        return single(np.mod(time_s, 18.0))

    log = log_of_angles(three, 54.0)
    measured = measure(log, cycles=3)
    times = [seconds(cycle, Quantity.CLOSING_TIME) for cycle in measured.cycles]
    assert times == pytest.approx([79.5 / 18] * 3, abs=0.01)
    with pytest.raises(MotionError, match="3 cycles found, 2 expected; begun at"):
        measure(log, cycles=2)


@pytest.mark.parametrize(
    ("angle", "flag"),
    [
        (lambda t: np.interp(t, [2, 6.5, 12, 16], [0, 90, 90, 12]), "did not close"),
        (lambda t: np.interp(t, [2, 4, 8, 10], [0, 30, 30, 0]), "did not open"),
        (
            lambda t: np.interp(t, [2, 5, 7, 9, 14, 18], [0, 45, 45, 90, 90, 0]),
            "stopped on the way",
        ),
        (lambda t: np.interp(t, [2, 6.5, 12, 14, 15, 18], [0, 90, 90, 45, 60, 0]), "turned back"),
        (
            lambda t: np.interp(t, [2, 4, 5, 6.5, 12, 17], [0, 40, 68, 90, 90, 0]),
            "uneven speed",
        ),
    ],
)
def test_what_a_leaf_should_not_do_is_flagged(angle, flag: str) -> None:  # type: ignore[no-untyped-def]
    (cycle,) = measure(log_of_angles(angle, 21.0)).cycles
    assert flag in cycle.flags


def test_a_gentle_start_that_is_steady_is_not_flagged() -> None:
    cycle = one(log_of_angles(raised_cosine(90, 6.0, 5.0, 7.0), 23.0))
    assert cycle.flags == ()


def test_a_leaf_that_does_not_close_has_no_times() -> None:
    log = log_of_angles(lambda t: np.interp(t, [2, 6.5, 12, 16], [0, 90, 90, 12]), 20.0)
    (cycle,) = measure(log).cycles
    assert cycle.times == () and cycle.latch_speed_deg_s is None


@pytest.mark.parametrize(
    ("begin", "end", "message"),
    [(3.0, 21.0, "does not begin"), (0.0, 15.0, "does not end"), (0.0, 1.5, "s long")],
)
def test_a_log_without_rest_at_both_ends_is_refused(begin: float, end: float, message: str) -> None:
    log = log_of_angles(even(90, 4.5, 6.0, 5.0), 21.0)
    part = (log.time_s >= begin) & (log.time_s < end)
    cut = RotationLog(log.time_s[part] - begin, log.rates_rad_s[part])
    with pytest.raises(MotionError, match=message) as caught:
        measure(cut)
    assert caught.value.way_out


def test_a_gap_while_the_leaf_moves_is_refused_and_one_at_rest_is_not() -> None:
    log = log_of_angles(even(90, 4.5, 6.0, 5.0), 21.0)

    def without(begin: float, end: float) -> RotationLog:
        keep = (log.time_s < begin) | (log.time_s > end)
        return RotationLog(log.time_s[keep], log.rates_rad_s[keep])

    with pytest.raises(MotionError, match=r"no samples from 4\.\d+ to 4\.\d+ s"):
        measure(without(4.0, 4.4))
    assert one(without(9.0, 9.5)).times


@pytest.mark.slow
def test_the_doubt_of_the_open_angle_is_that_of_repeated_logs() -> None:
    """Monte Carlo: the scatter over 60 logs of the same swing agrees with the stated doubt.

    With the scale known to be right only noise is left; the stated doubt also holds the bias
    between rests, so it may not be smaller than the scatter, nor five times as large.
    """
    angle = even(90, 4.5, 6.0, 5.0)
    found = [
        one(log_of_angles(angle, 21.0, rate_hz=100, noise_deg_s=0.2, seed=seed)).open_angle
        for seed in range(60)
    ]
    values = np.array([each.degrees for each in found if each is not None])
    first = found[0]
    assert first is not None
    stated = math.sqrt(first.uncertainty_deg**2 - (SCALE_SD * 90) ** 2)
    assert values.std(ddof=1) < 1.3 * stated
    assert stated < 5 * values.std(ddof=1)
