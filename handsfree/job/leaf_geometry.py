"""The position of the latch edge of an open leaf, as measured by tape."""

from __future__ import annotations

import math

from handsfree.job.unit import Measure

MOST_DEG = 90
"""The largest angle with an unambiguous distance (degrees): past it the edge comes back."""


def out_from_frame_m(width: Measure, angle_deg: float) -> float:
    """The distance of the latch edge from the line of the frame, at a right angle to it (m).

    It is W·sin(a) of a leaf of width W that turns about its hinge edge, from 0 to 90 degrees: a
    tape held straight out from the closed position shows it. The chord, from the latch edge to
    the strike, is longer: 2·W·sin(a/2).

    Raises ValueError for an angle outside of 0 to 90 degrees.
    """
    if not 0 <= angle_deg <= MOST_DEG:
        raise ValueError(f"{angle_deg} degrees: from 0 to {MOST_DEG}")
    return width.in_base_unit() * math.sin(math.radians(angle_deg))
