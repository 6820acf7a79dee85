"""The inertia of a leaf made of parts, compared with scipy's integral over its areal weight."""

from __future__ import annotations

import itertools
from decimal import Decimal

import pytest
import scipy
from hypothesis import given
from hypothesis import strategies as st

from handsfree.checks.energy import energy_j, uniform_inertia_kg_m2
from handsfree.checks.leaf_inertia import part_inertia_kg_m2, parts_inertia_kg_m2
from handsfree.job.leaf_part import Part
from handsfree.job.unit import Measure, Unit


def part(near_mm: int, width_mm: int, kg: int) -> Part:
    """A part in whole millimeters and kilograms."""
    return Part(
        name="part",
        near_edge=Measure(value=Decimal(near_mm), unit=Unit.MILLIMETRE),
        width=Measure(value=Decimal(width_mm), unit=Unit.MILLIMETRE),
        weight=Measure(value=Decimal(kg), unit=Unit.KILOGRAM),
    )


@st.composite
def leaves(draw) -> tuple[Part, ...]:
    """Parts within 1200 mm of the hinge edge."""
    parts = []
    for _ in range(draw(st.integers(1, 5))):
        near = draw(st.integers(0, 1100))
        parts.append(part(near, draw(st.integers(10, 1200 - near)), draw(st.integers(1, 80))))
    return tuple(parts)


@given(near=st.integers(0, 1000), width=st.integers(10, 1200), kg=st.integers(1, 200))
def test_the_inertia_of_a_part_equals_the_integral_over_it(near, width, kg):
    """scipy.integrate.quad: the integral of r² dm between its edges."""
    one = part(near, width, kg)
    integral, _ = scipy.integrate.quad(
        lambda r: r**2 * kg / (width / 1000), near / 1000, (near + width) / 1000
    )
    assert part_inertia_kg_m2(one) == pytest.approx(integral)


def test_glass_in_stiles_and_rails_with_a_heavy_lock_stile_equals_the_integral():
    """scipy.integrate.quad over the areal weight of the strip at each distance from the hinge."""
    width_m = 0.914
    stiles_kg, light_kg, rails_kg = (9, 15), 40, 12
    leaf = (part(0, 100, 9), part(100, 694, light_kg), part(100, 694, rails_kg), part(794, 120, 15))

    def kg_per_m(r: float) -> float:
        if r < 0.1:
            return stiles_kg[0] / 0.1
        return (light_kg + rails_kg) / 0.694 if r < 0.794 else stiles_kg[1] / 0.12

    integral, _ = scipy.integrate.quad(
        lambda r: r**2 * kg_per_m(r), 0, width_m, points=[0.1, 0.794]
    )
    assert parts_inertia_kg_m2(leaf) == pytest.approx(integral, rel=1e-6)
    # By hand: it carries 11 % more than 76 kg spread evenly would.
    uniform = uniform_inertia_kg_m2(76, width_m)
    ratio = energy_j(parts_inertia_kg_m2(leaf), 80, 3.5) / energy_j(uniform, 80, 3.5)
    assert ratio == pytest.approx(1.11, abs=0.005)


@given(edges=st.lists(st.integers(1, 1199), min_size=1, max_size=6, unique=True))
def test_an_even_leaf_cut_into_strips_is_a_uniform_leaf(edges):
    cuts = [0, *sorted(edges), 1200]
    strips = []
    for near, far in itertools.pairwise(cuts):
        strip = part(near, far - near, 1)
        kg = Measure(value=Decimal(far - near) / 20, unit=Unit.KILOGRAM)
        strips.append(strip.model_copy(update={"weight": kg}))
    assert parts_inertia_kg_m2(strips) == pytest.approx(uniform_inertia_kg_m2(60, 1.2))


@given(leaf=leaves())
def test_inertia_lies_between_none_and_all_the_mass_at_the_latch_edge(leaf):
    mass = sum(one.mass_kg for one in leaf)
    assert 0 < parts_inertia_kg_m2(leaf) < mass * max(one.far_m for one in leaf) ** 2


@given(leaf=leaves(), kg=st.integers(20, 300))
def test_a_known_weight_keeps_how_it_is_spread(leaf, kg):
    mass = sum(one.mass_kg for one in leaf)
    scaled = parts_inertia_kg_m2(leaf, float(kg))
    assert scaled / kg == pytest.approx(parts_inertia_kg_m2(leaf) / mass)


def test_a_leaf_of_no_parts_is_refused():
    with pytest.raises(ValueError, match="without parts"):
        parts_inertia_kg_m2(())
