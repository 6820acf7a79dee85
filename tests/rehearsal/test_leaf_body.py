"""The leaf's numbers, compared with handbook mechanics."""

from __future__ import annotations

import math

import pytest

from handsfree.checks.energy import least_time_s
from handsfree.rehearsal.leaf_body import GASKET_RAD, Body

LEAF = Body(width_m=0.9144, height_m=2.1336, mass_kg=56.699)  # 36 in, 84 in, 125 lb


def test_its_energy_is_the_limit_at_the_table_time():
    """36 in by 125 lb: the cell is 3.5 s, the physics 3.01 s (facts: derived, seen)."""
    least_s = least_time_s(LEAF.inertia_kg_m2, 80.0, 1.6948)
    assert least_s == pytest.approx(36 * math.sqrt(125) / 133.5, rel=0.001)
    assert LEAF.energy_j(math.radians(80) / least_s) == pytest.approx(1.6948)


def test_a_pressure_acts_on_its_middle():
    pushed = LEAF.model_copy(update={"air_pa": 10.0})
    area = 0.9144 * 2.1336
    assert pushed.air(0.0) == pytest.approx(10.0 * area * 0.9144 / 2)
    assert pushed.air(math.pi / 2) == pytest.approx(0.0, abs=1e-12)
    assert pushed.air(math.radians(120)) == 0.0


def test_friction_holds_back_either_way_and_the_rest_pushes_shut():
    opening, closing = LEAF.load(0.5, 1.0), LEAF.load(0.5, -1.0)
    still = LEAF.spring(0.5)
    assert opening == pytest.approx(still + LEAF.friction_nm + LEAF.damping_nm_s)
    assert closing == pytest.approx(still - LEAF.friction_nm - LEAF.damping_nm_s)


def test_what_binds_is_felt_where_it_binds():
    binding = LEAF.model_copy(update={"bind_nm": 30.0})
    assert binding.dry(binding.bind_rad) == pytest.approx(32.0)
    assert binding.dry(0.0) == pytest.approx(2.0, abs=0.01)
    assert binding.open_fully_n() > LEAF.open_fully_n() + 25
    assert binding.set_in_motion_n() == pytest.approx(LEAF.set_in_motion_n(), abs=0.01)


def test_the_latch_comes_on_top_and_a_gasket_helps_only_near_shut():
    assert LEAF.release_n() - LEAF.set_in_motion_n() == LEAF.latch_n
    sprung = LEAF.model_copy(update={"gasket_nm": 50.0})
    assert sprung.gasket(0.0) == 50.0
    assert sprung.gasket(GASKET_RAD) == 0.0
