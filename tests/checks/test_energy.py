"""The leaf's energy against scipy and against the standard's own constants."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad, solve_ivp

from handsfree.checks.energy import (
    allowed_peak_to_mean,
    energy_j,
    least_time_s,
    uniform_inertia_kg_m2,
)

KG_PER_LB, M_PER_IN, J_PER_FT_LBF = 0.45359237, 0.0254, 1.3558179483314004

positive = st.floats(min_value=0.3, max_value=2.0)
mass = st.floats(min_value=10.0, max_value=300.0)


@given(mass_kg=mass, width_m=positive)
def test_inertia_equals_the_integral_over_the_leaf(mass_kg, width_m):
    """scipy.integrate.quad: the integral of r² dm over a leaf of even areal weight."""
    integral, _ = quad(lambda r: r**2 * mass_kg / width_m, 0, width_m)
    assert uniform_inertia_kg_m2(mass_kg, width_m) == pytest.approx(integral)


def test_energy_equals_that_of_a_motion_integrated_step_by_step():
    """scipy.integrate.solve_ivp: a leaf brought to speed by a torque, then coasting."""
    inertia, angle_deg, time_s = uniform_inertia_kg_m2(68.0, 0.9144), 80.0, 4.0
    speed = math.radians(angle_deg) / time_s
    ramp_s = 0.01
    torque = inertia * speed / ramp_s

    def motion(t, state):
        return [state[1], torque / inertia if t < ramp_s else 0.0]

    solved = solve_ivp(motion, (0, time_s), [0.0, 0.0], max_step=ramp_s / 4, rtol=1e-9)
    angle, omega = solved.y[0][-1], solved.y[1][-1]
    assert math.degrees(angle) == pytest.approx(angle_deg, rel=0.002)
    assert energy_j(inertia, angle_deg, time_s) == pytest.approx(inertia * omega**2 / 2, rel=0.002)


def test_physics_gives_the_constant_133_5_in_inches_and_pounds():
    """Derived: KE = 1.25 lbf·ft over 80 degrees gives T = D·√W / 133.50."""
    inertia = uniform_inertia_kg_m2(100 * KG_PER_LB, 30 * M_PER_IN)
    least = least_time_s(inertia, 80, 1.25 * J_PER_FT_LBF)
    assert 30 * math.sqrt(100) / least == pytest.approx(133.50, abs=0.01)


def test_physics_gives_the_constant_2280_6_in_millimetres_and_kilograms():
    """Derived: at 1.69 J, T = D·√M / 2280.6 (mm, kg)."""
    least = least_time_s(uniform_inertia_kg_m2(80.0, 0.9), 80, 1.69)
    assert 900 * math.sqrt(80) / least == pytest.approx(2280.6, abs=0.2)


def test_a_full_energy_door_has_the_constant_188_by_the_same_physics():
    """Contrast: ANSI/BHMA A156.10 states T = D·√W / 188 for 2.5 lbf·ft (seen).

    The same angle and twice the energy give 133.50·√2 = 188.8.
    """
    inertia = uniform_inertia_kg_m2(150 * KG_PER_LB, 36 * M_PER_IN)
    least = least_time_s(inertia, 80, 2.5 * J_PER_FT_LBF)
    assert 36 * math.sqrt(150) / least == pytest.approx(188, rel=0.01)


def test_a_time_shorter_by_a_fifth_of_a_second_is_a_seventh_more_energy():
    """Derived: at 3.0 s, 0.2 s shorter means 14.8 % more energy."""
    inertia = uniform_inertia_kg_m2(60.0, 0.9)
    assert energy_j(inertia, 80, 2.8) / energy_j(inertia, 80, 3.0) == pytest.approx(1.148, abs=5e-4)


def test_the_table_leaves_almost_no_room_for_a_ramp_at_30_in_by_175_lb():
    """Derived: at 3.0 s the peak may be 1.009 times the mean speed only."""
    inertia = uniform_inertia_kg_m2(175 * KG_PER_LB, 30 * M_PER_IN)
    mean_j = energy_j(inertia, 80, 3.0)
    assert allowed_peak_to_mean(1.25 * J_PER_FT_LBF, mean_j) == pytest.approx(1.009, abs=5e-4)


@given(mass_kg=mass, width_m=positive, time_s=st.floats(1, 20), slower_s=st.floats(0, 10))
def test_slower_never_makes_the_energy_worse(mass_kg, width_m, time_s, slower_s):
    inertia = uniform_inertia_kg_m2(mass_kg, width_m)
    assert energy_j(inertia, 80, time_s + slower_s) <= energy_j(inertia, 80, time_s)


@given(mass_kg=mass, width_m=positive)
def test_the_least_time_carries_exactly_the_limit(mass_kg, width_m):
    inertia = uniform_inertia_kg_m2(mass_kg, width_m)
    assert energy_j(inertia, 80, least_time_s(inertia, 80, 1.69)) == pytest.approx(1.69)
