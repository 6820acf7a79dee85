"""The plan of the door: leaves at their angles."""

from __future__ import annotations

import pytest

from handsfree.job.opening import Side
from handsfree.rehearsal.ascii_plan import CELLS_A_LEAF, Drawn, angle_at, drawn, plan


def where(page: list[str], mark: str) -> list[tuple[int, int]]:
    return [
        (row, column) for row, line in enumerate(page) for column, c in enumerate(line) if c == mark
    ]


def test_a_shut_leaf_lies_in_the_wall():
    page = plan([Drawn(Side.LEFT, 0.0, True)])
    ((hinge_row, hinge_at),) = where(page, "◉")
    ((edge_row, edge_at),) = where(page, "◆")
    assert hinge_row == edge_row
    assert edge_at - hinge_at == CELLS_A_LEAF - 1
    assert page[hinge_row].startswith("████")


def test_an_open_leaf_stands_across_it_on_its_side():
    up = plan([Drawn(Side.LEFT, 90.0, True)])
    ((hinge_row, hinge_at),) = where(up, "◉")
    ((edge_row, edge_at),) = where(up, "◆")
    assert edge_at == hinge_at and edge_row < hinge_row
    down = plan([Drawn(Side.RIGHT, 90.0, False)])
    ((hinge_row, _),) = where(down, "◉")
    ((edge_row, _),) = where(down, "◆")
    assert edge_row > hinge_row


@pytest.mark.parametrize("angle", range(0, 91, 15))
def test_the_leaves_of_a_pair_are_mirrored(angle):
    page = plan([Drawn(Side.LEFT, angle, True), Drawn(Side.RIGHT, angle, True)])
    (left_row, left_at), (right_row, right_at) = sorted(where(page, "◆"), key=lambda at: at[1])
    (_, hinge), (_, other) = sorted(where(page, "◉"), key=lambda at: at[1])
    assert left_row == right_row
    assert left_at - hinge == other - right_at


def test_a_leaf_that_opens_past_square_stays_on_the_page():
    for angle in range(0, 181, 5):
        assert where(plan([Drawn(Side.LEFT, angle, True, 180.0)]), "◉")


def test_angles_between_two_points_of_a_trace():
    trace = ((0.0, 0.0), (1.0, 20.0), (1.0, 20.0), (4.0, 20.0), (5.0, 0.0))
    assert angle_at(trace, -1.0) == 0.0
    assert angle_at(trace, 0.25) == 5.0
    assert angle_at(trace, 3.0) == 20.0
    assert angle_at(trace, 4.5) == 10.0
    assert angle_at(trace, 99.0) == 0.0


def test_a_door_is_drawn_as_its_file_has_it(pair, single):
    left, right = drawn(pair, {Side.RIGHT: 30.0})
    assert (left.hinge, left.angle_deg, left.away) == (Side.LEFT, 0.0, True)
    assert (right.hinge, right.angle_deg) == (Side.RIGHT, 30.0)
    (pulled,) = drawn(single, {})
    assert not pulled.away
