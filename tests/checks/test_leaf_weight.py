"""The weight that counts, and the effect of parts on the energy."""

from __future__ import annotations

import math
from decimal import Decimal

import numpy as np
import pytest

from handsfree.checks.evaluate import judge
from handsfree.checks.leaf_weight import inertia_of, leaf_contradiction, weight_of
from handsfree.job.finding import Verdict
from handsfree.job.leaf_construction import Aluminium, Core, HollowMetal, SolidWood
from handsfree.job.leaf_part import Part
from handsfree.job.opening import WeightSource
from handsfree.job.quantity import Quantity
from handsfree.job.unit import Measure, Unit
from handsfree.language.wording import wording

from .conftest import a_job, read, with_leaf

ENGLISH = wording()

HONEYCOMB = HollowMetal(core=Core.HONEYCOMB, gauge=18)
HEIGHT = Measure(value=Decimal(84), unit=Unit.INCH)


def inches(value) -> Measure:
    return Measure(value=Decimal(value), unit=Unit.INCH)


def part(name, near, width, pounds) -> Part:
    weight = Measure(value=Decimal(pounds), unit=Unit.POUND)
    return Part(name=name, near_edge=inches(near), width=inches(width), weight=weight)


def the_leaf(**changed):
    (leaf,) = with_leaf(a_job(), **changed).opening.leaves
    return leaf


def test_a_construction_stands_in_for_a_weight_that_nobody_knows():
    """3.5 lb/ft2 (seen) on 36 by 84 in, 21 square feet: 73.5 lb, heavy side 88.2 lb."""
    weight = weight_of(the_leaf(weight=None, height=HEIGHT, construction=HONEYCOMB))
    assert (weight.used.value, weight.source) == (Decimal("88.2"), WeightSource.ESTIMATE)


def test_a_label_comes_before_a_construction():
    weight = weight_of(the_leaf(height=HEIGHT, construction=HONEYCOMB))
    assert weight.words(ENGLISH) == "150 pounds from the label"
    assert "should weigh about 73.5 pounds" in weight.contradiction


def test_stiles_without_room_for_a_pane_tell_no_weight():
    """18 in of leaf between two stiles of 9.5 in: nothing is left for the glass."""
    size = inches("9.5")
    frame = Aluminium(
        stile=size,
        top_rail=size,
        bottom_rail=size,
        depth=inches("1.75"),
        wall=inches("0.125"),
        glass=inches("0.25"),
    )
    leaf = the_leaf(width=inches(18), weight=None, height=HEIGHT, construction=frame)
    assert weight_of(leaf) is None


def test_a_heavy_lock_stile_carries_more_than_an_even_leaf(a156):
    """130 lb evenly to 32 in and 20 lb from 32 to 36 in, by the parallel axis theorem."""
    kg, m = 0.45359237, 0.0254
    by_hand = 130 * kg * (32 * m) ** 2 / 3
    by_hand += 20 * kg * ((4 * m) ** 2 / 12 + (34 * m) ** 2)
    parts = (part("panel", 0, 32, 130), part("lock stile", 32, 4, 20))
    assert inertia_of(the_leaf(parts=parts)) == pytest.approx(by_hand)
    even = read(a_job(), Quantity.CLOSING_TIME, "3.9")
    made = read(with_leaf(a_job(), parts=parts), Quantity.CLOSING_TIME, "3.9")
    of_even, of_made = (judge(job, a156)[-1] for job in (even, made))
    assert of_made.rule == "closing energy"
    assert of_made.reading > of_even.reading
    assert (of_even.verdict, of_made.verdict) == (Verdict.PASS, Verdict.TOO_CLOSE)


def test_parts_that_do_not_cover_the_width_are_no_weight(a156):
    """A lock stile alone is not the leaf: 12 of 150 lb would let it close in no time."""
    leaf = the_leaf(weight=None, weight_source=None, parts=(part("lock stile", 32, 4, 12),))
    assert weight_of(leaf) is None and inertia_of(leaf) is None
    assert leaf_contradiction(leaf) == (
        "no part covers 32.0 of the 36 in of its width, so the parts tell no weight: tell all of "
        "them, or weigh the leaf"
    )
    job = with_leaf(a_job(), weight=None, weight_source=None, parts=leaf.parts)
    found = judge(read(job, Quantity.CLOSING_TIME, "3.2"), a156)
    assert [each.verdict for each in found] == [Verdict.NOT_JUDGED]
    wide = (part("panel", 0, 32, 130), part("lock stile", "32.1", "3.9", 20))
    assert weight_of(the_leaf(weight=None, parts=wide)) is not None, "a gap of 0.1 in is a joint"


@pytest.mark.parametrize(
    ("construction", "low", "high"),
    [
        (SolidWood(), "84", "182"),  # 3 to 6.5 lb/ft2 (seen), 48 by 84 in are 28 square feet
        (HONEYCOMB, "78.4", "117.6"),  # 3.5 lb/ft2 (seen), a fifth to either side
    ],
)
def test_how_light_and_how_heavy_an_estimate_may_be(construction, low, high):
    leaf = the_leaf(width=inches(48), weight=None, height=HEIGHT, construction=construction)
    weight = weight_of(leaf)
    assert (weight.lightest.value, weight.used.value) == (Decimal(low), Decimal(high))


def test_the_doubt_of_an_estimated_weight_is_in_the_probability_of_the_energy(a156):
    """48 by 84 in of solid wood in 4.7 s: within the energy with probability 0.885 (derived).

    By numpy's generator: a weight anywhere from 84 to 182 lb, a time of SD 0.10 s, and the energy
    of ½·(m·D²/3)·(80π/180/T)². 400,000 draws have a standard error of 0.0005.
    """
    rng = np.random.default_rng(4)
    kg = rng.uniform(84, 182, 400_000) * 0.45359237
    omega = math.radians(80) / (4.7 + rng.normal(0, 0.10, kg.size))
    joules = kg * (48 * 0.0254) ** 2 / 3 * omega**2 / 2
    share = np.mean(joules <= 1.25 * 1.3558179483314004)
    assert share == pytest.approx(0.885, abs=0.002)
    job = with_leaf(a_job(), width=inches(48), height=HEIGHT, weight=None, weight_source=None)
    job = with_leaf(job, construction=SolidWood())
    energy = judge(read(job, Quantity.OPENING_TIME, "4.7"), a156)[-1]
    assert energy.rule == "opening energy"
    assert float(energy.probability) == pytest.approx(share, abs=0.006)
    assert energy.verdict is Verdict.FAIL, "at its heavy side, 182 lb"


def test_every_finding_names_width_weight_and_where_it_comes_from_on_a_pass_as_well(a156):
    for source, words in (
        (WeightSource.SCALE, "36 inches and 150 pounds from the scale"),
        (None, "36 inches and 150 pounds, source not recorded"),
    ):
        job = read(with_leaf(a_job(), weight_source=source), Quantity.BACKCHECK_ANGLE, "70")
        job = read(job, Quantity.OPENING_TIME, "5")
        job = read(read(job, Quantity.TOTAL_OPENING_TIME, "8"), Quantity.CLOSING_TIME, "5")
        found = [each for each in judge(job, a156) if each.rule != "backcheck angle"]
        assert len(found) == 6
        assert all(each.verdict is Verdict.PASS and words in each.why for each in found)


def test_parts_alone_are_an_estimate_of_the_weight():
    leaf = the_leaf(weight=None, weight_source=None, parts=(part("panel", 0, 36, 100),))
    weight = weight_of(leaf)
    assert (weight.used.value, weight.source) == (Decimal("120.00"), WeightSource.ESTIMATE)
    assert "its parts" in weight.words(ENGLISH)
