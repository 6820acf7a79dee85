"""Which weight counts, and what parts do to the energy."""

from __future__ import annotations

from decimal import Decimal

import pytest

from handsfree.checks.judge import judge
from handsfree.checks.leaf_weight import inertia_of, weight_of
from handsfree.job.construction import Aluminium, Core, HollowMetal
from handsfree.job.finding import Verdict
from handsfree.job.opening import WeightSource
from handsfree.job.part import Part
from handsfree.job.quantity import Quantity
from handsfree.job.unit import Measure, Unit
from handsfree.wording import wording

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
    even = read(a_job(), Quantity.CLOSING_TIME, "3.55")
    made = read(with_leaf(a_job(), parts=parts), Quantity.CLOSING_TIME, "3.55")
    of_even, of_made = (judge(job, a156)[-1] for job in (even, made))
    assert of_made.rule == "closing energy"
    assert of_made.reading > of_even.reading
    assert (of_even.verdict, of_made.verdict) == (Verdict.PASS, Verdict.TOO_CLOSE)


def test_parts_alone_are_an_estimate_of_the_weight():
    leaf = the_leaf(weight=None, weight_source=None, parts=(part("panel", 0, 36, 100),))
    weight = weight_of(leaf)
    assert (weight.used.value, weight.source) == (Decimal("120.00"), WeightSource.ESTIMATE)
    assert "its parts" in weight.words(ENGLISH)
