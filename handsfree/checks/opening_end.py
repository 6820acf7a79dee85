"""The last stretch of the opening: from backcheck, or 80 degrees, to fully open.

Its time is the total opening time minus the opening time; the leaf carries energy there too.
"""

from __future__ import annotations

from decimal import Decimal

from handsfree.checks.energy import OPENING_ANGLE_DEG
from handsfree.checks.measurement_uncertainty import (
    Uncertainty,
    difference,
    sample_sd,
    uncertainty_of,
)
from handsfree.job.job import Job, leaf_side
from handsfree.job.opening import Leaf
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Subject
from handsfree.job.record import Record
from handsfree.job.unit import Unit, convert

SQUARE_DEG = Decimal(90)


class Stretch(Record):
    """The angle of the last stretch, and its time in s with the uncertainty of a difference.

    A time of 0 or less is a contradiction: the whole cannot be shorter than its part.
    """

    angle_deg: float
    part: Uncertainty
    whole: Uncertainty
    time: Uncertainty


def opening_end_deg(leaf: Leaf) -> float:
    """The angle at which the opening time ends: backcheck or 80 degrees, whichever comes first."""
    known = leaf.backcheck_angle_deg
    return min(float(known), OPENING_ANGLE_DEG) if known is not None else OPENING_ANGLE_DEG


def stretch_of(job: Job, subject: Subject) -> Stretch | None:
    """The last stretch of a leaf whose two times and backcheck angle are known, else None.

    Runs are paired in order, so that both times of a run by ear come from the same run.
    """
    side = leaf_side(subject)
    leaf = job.opening.leaf(side) if side else None
    if leaf is None or leaf.backcheck_angle_deg is None:
        return None
    angle_deg = float(leaf.open_angle_deg or SQUARE_DEG) - opening_end_deg(leaf)
    pairs = tuple(
        zip(
            job.runs(Quantity.OPENING_TIME, subject),
            job.runs(Quantity.TOTAL_OPENING_TIME, subject),
            strict=False,
        )
    )
    if not pairs or angle_deg <= 0:
        return None
    part, whole = (uncertainty_of(runs, Unit.SECOND) for runs in zip(*pairs, strict=True))
    apart = [
        convert(long.value, long.unit, Unit.SECOND) - convert(short.value, short.unit, Unit.SECOND)
        for short, long in pairs
    ]
    spread = sample_sd([float(each) for each in apart])
    return Stretch(
        angle_deg=angle_deg,
        part=part,
        whole=whole,
        time=difference(whole, part, spread, min(apart), max(apart)),
    )
