"""Draws a plan of the door in characters: wall, hinges, and leaves at their angles."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

from handsfree.job.opening import Side
from handsfree.rehearsal.door_spec import DoorSpec

CELLS_A_LEAF = 22
_ROWS = 11
_WALL, _LEAF, _HINGE, _EDGE, _PATH, _PLATE = "█", "•", "◉", "◆", "·", "▣"
_PATH_EVERY_DEG = 6


class Drawn(NamedTuple):
    """A leaf to draw: hinge side, angle, direction, and opening angle."""

    hinge: Side
    angle_deg: float
    away: bool
    open_deg: float = 90.0


def plan(leaves: Sequence[Drawn]) -> list[str]:
    """Draws the opening from above, with the viewer below the wall; one string per row.

    A pushed leaf swings away, up on the page; a pulled one swings down. A character is twice as
    tall as it is wide.
    """
    width = CELLS_A_LEAF * len(leaves) + 9
    up = any(leaf.away for leaf in leaves)
    down = any(not leaf.away for leaf in leaves)
    above, below = (_ROWS if up else 1), (_ROWS if down else 1)
    page = [[" "] * width for _ in range(above + 1 + below)]
    page[above] = [_WALL] * width
    for nth in range(CELLS_A_LEAF * len(leaves)):
        page[above][4 + nth] = " "
    for nth, leaf in enumerate(leaves):
        left = 4 + nth * CELLS_A_LEAF
        _draw(page, above, left, leaf)
    for side in (2, width - 3):
        page[min(above + 1, len(page) - 1)][side] = _PLATE
    return ["".join(row).rstrip() for row in page]


def _draw(page: list[list[str]], wall: int, left: int, leaf: Drawn) -> None:
    reach = CELLS_A_LEAF - 1
    for angle in range(0, round(leaf.open_deg) + 1, _PATH_EVERY_DEG):
        _put(page, wall, left, leaf, angle, reach, _PATH)
    for step in range(1, reach):
        _put(page, wall, left, leaf, leaf.angle_deg, step, _LEAF)
    _put(page, wall, left, leaf, leaf.angle_deg, reach, _EDGE)
    _put(page, wall, left, leaf, 0.0, 0.0, _HINGE)


def _put(
    page: list[list[str]],
    wall: int,
    left: int,
    leaf: Drawn,
    angle_deg: float,
    cells: float,
    mark: str,
) -> None:
    along = cells * math.cos(math.radians(angle_deg))
    across = cells * math.sin(math.radians(angle_deg)) / 2
    column = left + along if leaf.hinge is Side.LEFT else left + CELLS_A_LEAF - 1 - along
    row = wall - across if leaf.away else wall + across
    at_row, at_column = round(row), round(column)
    if 0 <= at_row < len(page) and 0 <= at_column < len(page[0]):
        page[at_row][at_column] = mark


def drawn(spec: DoorSpec, angles_deg: dict[Side, float]) -> list[Drawn]:
    """The leaves of a door at their angles, left first; leaves without an angle are shut."""
    return [
        Drawn(
            hinge=leaf.hinge_side,
            angle_deg=angles_deg.get(side, 0.0),
            away=leaf.action == "push",
            open_deg=math.degrees(leaf.body.open_rad),
        )
        for side, leaf in spec.leaves.items()
    ]


def angle_at(trace: Sequence[tuple[float, float]], at_s: float) -> float:
    """Angle in degrees at a time, interpolated in a cycle's trace."""
    if at_s <= trace[0][0]:
        return trace[0][1]
    for (before_s, before), (after_s, after) in pairwise(trace):
        if at_s <= after_s:
            share = (at_s - before_s) / (after_s - before_s) if after_s > before_s else 1.0
            return before + share * (after - before)
    return trace[-1][1]
