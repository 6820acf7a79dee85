"""The largest energy and its uncertainty, compared with the package uncertainties."""

from __future__ import annotations

import math

import pytest
from uncertainties import ufloat

from handsfree.motion.leaf_energy_peak import energy_peaks
from handsfree.motion.motion_record import CycleMotion, TopSpeed


def test_energy_and_doubt_agree_with_the_uncertainties_package() -> None:
    top = TopSpeed(speed_deg_s=24.0, angle_deg=40.0, at_s=3.0, relative_uncertainty=0.012)
    motion = CycleMotion(begins_s=0, ends_s=20, opening=top)
    (peak,) = energy_peaks(motion, 19.0, 0.03, 0.9)
    omega = ufloat(math.radians(24.0), 0.012 * math.radians(24.0))
    inertia = ufloat(19.0, 0.03 * 19.0)
    energy = inertia * omega**2 / 2
    assert peak.energy_j == pytest.approx(energy.nominal_value)
    assert peak.uncertainty_j == pytest.approx(energy.std_dev)
    assert peak.edge_speed_m_s == pytest.approx(0.9 * math.radians(24.0))
    assert peak.travel == "opening"


def test_a_travel_without_a_speed_has_no_energy() -> None:
    assert energy_peaks(CycleMotion(begins_s=0, ends_s=1), 19.0, 0.0) == ()
