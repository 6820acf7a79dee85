"""The drawing of the opening and the charts, checked by their geometry."""

from __future__ import annotations

from decimal import Decimal
from itertools import pairwise, product
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from handsfree.job.opening import Action, Leaf, Motor, Opening, Side, Swing
from handsfree.job.unit import Measure, Unit
from handsfree.reports.chart_svg import Gauge, LimitLine, chart_svg
from handsfree.reports.opening_svg import opening_svg, opening_words

SIDES = (Side.LEFT, Side.RIGHT)


def drawn(svg: str) -> ElementTree.Element:
    return ElementTree.fromstring(svg)


def by_class(svg: ElementTree.Element, name: str) -> list[ElementTree.Element]:
    return [e for e in svg.iter() if name in e.get("class", "").split()]


def opening(*leaves: Leaf, swing: Swing = Swing.SAME_WAY, motors: tuple[Motor, ...] = ()):
    return Opening(name="a", seen_from="the lobby", swing=swing, leaves=leaves, motors=motors)


def leaf(name: Side, hinge: Side | None, action: Action | None, **more) -> Leaf:
    return Leaf(name=name, hinge_side=hinge, action=action, **more)


@pytest.mark.parametrize(("hinge", "action"), list(product(SIDES, Action)))
def test_a_single_leaf_turns_about_its_hinges_to_the_side_it_is_pushed_or_pulled(hinge, action):
    svg = drawn(opening_svg(opening(leaf(Side.LEFT, hinge, action), swing=Swing.SINGLE)))
    (line,) = by_class(svg, "leaf")
    (shut,) = by_class(svg, "shut")
    (pivot,) = by_class(svg, "hinge")
    # Pushed it goes away from who looks, which is up; pulled it comes towards them.
    rises = float(line.get("y2")) < float(line.get("y1"))
    assert rises is (action is Action.PUSH)
    assert pivot.get("cx") == line.get("x1") == shut.get("x1")
    other = float(shut.get("x2"))
    assert (other > float(shut.get("x1"))) is (hinge is Side.LEFT)


@pytest.mark.parametrize(("hinge", "action"), list(product(SIDES, Action)))
def test_the_arc_runs_from_the_shut_edge_to_the_open_one_about_the_hinge(hinge, action):
    """A quarter of a circle: its middle lies on the side between both edges, by its sweep flag."""
    svg = drawn(opening_svg(opening(leaf(Side.LEFT, hinge, action), swing=Swing.SINGLE)))
    (arc,) = by_class(svg, "arc")
    numbers = arc.get("d").replace("M", "").replace("A", " ").replace(",", " ").split()
    x1, y1, radius, _, _, large, sweep, x2, y2 = map(float, numbers)
    (pivot,) = by_class(svg, "hinge")
    cx, cy = float(pivot.get("cx")), float(pivot.get("cy"))
    for x, y in ((x1, y1), (x2, y2)):
        assert (x - cx) ** 2 + (y - cy) ** 2 == pytest.approx(radius**2, rel=0.01)
    # In SVG's axes a sweep of 1 turns clockwise: the cross product of both radii is positive.
    cross = (x1 - cx) * (y2 - cy) - (y1 - cy) * (x2 - cx)
    assert (cross > 0) is (sweep == 1) and large == 0


def test_a_double_egress_pair_swings_to_both_sides_and_a_pair_same_way_to_one():
    left = leaf(Side.LEFT, Side.LEFT, Action.PUSH)
    for action, both in ((Action.PULL, True), (Action.PUSH, False)):
        pair = opening(left, leaf(Side.RIGHT, Side.RIGHT, action), swing=Swing.DOUBLE_EGRESS)
        lines = by_class(drawn(opening_svg(pair)), "leaf")
        rises = {float(line.get("y2")) < float(line.get("y1")) for line in lines}
        assert (len(rises) == 2) is both


def test_a_leaf_that_opens_farther_is_drawn_farther_open():
    wide = leaf(Side.LEFT, Side.LEFT, Action.PUSH, open_angle_deg=Decimal(110))
    (line,) = by_class(drawn(opening_svg(opening(wide, swing=Swing.SINGLE))), "leaf")
    assert float(line.get("x2")) < float(line.get("x1"))


def test_what_was_not_told_is_drawn_shut_and_said():
    for hinge, action, missing in (
        (None, Action.PUSH, "hinges unknown"),
        (Side.LEFT, None, "push or pull?"),
    ):
        pair = opening(leaf(Side.LEFT, hinge, action), swing=Swing.SINGLE)
        svg = drawn(opening_svg(pair))
        assert by_class(svg, "untold") and not by_class(svg, "arc")
        assert missing in "".join(svg.itertext()) and missing in opening_words(pair)


def test_each_motor_stands_at_the_hinges_of_its_leaf_with_its_number():
    left, right = (leaf(side, side, Action.PUSH) for side in SIDES)
    motors = (Motor(number=1, leaf=Side.RIGHT, hand=Side.LEFT), Motor(number=2))
    svg = drawn(opening_svg(opening(left, right, motors=motors)))
    text = "".join(svg.itertext())
    assert "motor 1, left hand" in text and "motor 2: leaf not recorded" in text
    numbers = {e.text: float(e.get("x")) for e in by_class(svg, "number")}
    hinges = [float(e.get("cx")) for e in by_class(svg, "hinge")]
    assert abs(numbers["1"] - hinges[1]) < 40 < abs(numbers["1"] - hinges[0])


def test_the_drawing_in_words_holds_what_it_shows():
    left = leaf(Side.LEFT, Side.LEFT, Action.PUSH, width=Measure(value=Decimal(36), unit=Unit.INCH))
    one = opening(left, swing=Swing.SINGLE, motors=(Motor(number=1, leaf=Side.LEFT),))
    words = drawn(opening_svg(one, {Side.LEFT: "40 in high"})).get("aria-label")
    for part in ("hinges left", "push to open", "36 in", "hand not recorded", "40 in high"):
        assert part in words


# --- charts


def gauge(found=(), left=(), *limits: LimitLine) -> Gauge:
    return Gauge("opening time", found, left, limits, "pass", "told")


AXIS = (6.0, 354.0)


def values(svg: ElementTree.Element, kind: str) -> list[float]:
    return [float(e.get("cx")) for e in by_class(svg, "run") if kind in e.get("class")]


def test_every_run_has_its_point_and_as_found_is_told_from_as_left():
    svg = drawn(chart_svg("Times", [gauge((2.9,), (3.67, 3.66, 3.7))]))
    assert len(values(svg, "found")) == 1 and len(values(svg, "left")) == 3
    assert svg.get("aria-label") == "Times: opening time told"


def test_a_point_beyond_its_limit_lies_in_what_is_not_allowed_and_one_in_doubt_in_the_band():
    least = LimitLine(3.5, True, 0.2, True)
    svg = drawn(chart_svg("Times", [gauge((2.9,), (3.6, 4.4), least)]))
    (beyond,), (band,) = by_class(svg, "beyond"), by_class(svg, "band")
    spans = [(float(e.get("x")), float(e.get("x")) + float(e.get("width"))) for e in (beyond, band)]
    (found,), (close, clear) = values(svg, "found"), values(svg, "left")
    assert spans[0][0] <= found <= spans[0][1]
    assert spans[1][0] <= close <= spans[1][1]
    assert clear > spans[1][1]
    assert spans[0][1] == pytest.approx(spans[1][0], abs=0.2)


def test_a_most_forbids_what_lies_above_it():
    svg = drawn(chart_svg("Forces", [gauge((), (17.0,), LimitLine(15.0, False, 0.3, True))]))
    (beyond,) = by_class(svg, "beyond")
    (point,) = values(svg, "left")
    assert float(beyond.get("x")) < point
    assert float(beyond.get("x")) + float(beyond.get("width")) == pytest.approx(AXIS[1], abs=0.2)


def test_a_recommendation_forbids_nothing():
    svg = drawn(chart_svg("Times", [gauge((), (4.0,), LimitLine(5.0, True, 0.2, False))]))
    assert not by_class(svg, "beyond") and by_class(svg, "advised")


@given(
    st.lists(st.floats(-1e3, 1e5, allow_nan=False), min_size=1, max_size=5),
    st.floats(0, 1e5, allow_nan=False),
    st.booleans(),
)
def test_nothing_is_drawn_off_the_chart_and_larger_is_farther_right(left, limit, at_least):
    svg = drawn(chart_svg("T", [gauge((), tuple(left), LimitLine(limit, at_least, 0.1, True))]))
    points = values(svg, "left")
    assert all(AXIS[0] <= x <= AXIS[1] for x in points)
    order = sorted(range(len(left)), key=left.__getitem__)
    assert all(points[a] <= points[b] for a, b in pairwise(order))
    ticks = by_class(svg, "tick")
    assert 2 <= len(ticks) <= 11
