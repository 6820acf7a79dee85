"""The latch edge of an open leaf, compared with closed forms of plane geometry."""

from __future__ import annotations

import cmath
import math
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from handsfree.job.leaf_geometry import out_from_frame_m
from handsfree.job.unit import Measure, Unit


def inches(value: str) -> Measure:
    return Measure(value=Decimal(value), unit=Unit.INCH)


# Derived: 36 in times the sine of the angle, as the project's table of facts has it.
@pytest.mark.parametrize(("angle_deg", "out_in"), [(10, 6.2513), (80, 35.4531), (90, 36.0), (0, 0)])
def test_a_leaf_of_thirty_six_inches(angle_deg, out_in):
    assert out_from_frame_m(inches("36"), angle_deg) / 0.0254 == pytest.approx(out_in, abs=1e-4)


@given(st.decimals("18", "60", places=2), st.floats(0, 90))
def test_it_is_the_height_of_a_point_that_turned(width_in, angle_deg):
    """A point turned as a complex number; with the way along the frame it makes the width."""
    width = inches(str(width_in))
    edge = width.in_base_unit() * cmath.exp(1j * math.radians(angle_deg))
    out = out_from_frame_m(width, angle_deg)
    assert out == pytest.approx(edge.imag, abs=1e-9)
    assert out**2 + edge.real**2 == pytest.approx(width.in_base_unit() ** 2)
    chord = 2 * width.in_base_unit() * math.sin(math.radians(angle_deg) / 2)
    assert out <= chord + 1e-9


@pytest.mark.parametrize("angle_deg", [-1, 90.5])
def test_past_ninety_degrees_the_edge_comes_back(angle_deg):
    with pytest.raises(ValueError, match="from 0 to 90"):
        out_from_frame_m(inches("36"), angle_deg)
