"""What a door for a rehearsal is made of, before anything moves: frozen, from its file."""

from __future__ import annotations

from handsfree.job.job import Sheet
from handsfree.job.opening import Side
from handsfree.job.reading import Subject
from handsfree.job.record import Record
from handsfree.job.unit import Measure
from handsfree.rehearsal.leaf_body import Body
from handsfree.rehearsal.operator import Operator, SettingName

PLATES = (Subject.LEFT_PLATE, Subject.RIGHT_PLATE)
FACES = (Subject.NEAR_SIDE, Subject.FAR_SIDE)


class LeafSpec(Record):
    """A leaf as the technician can measure it, as it moves, and as it is set.

    ``width``, ``height`` and ``weight`` are what tape and label say.
    """

    width: Measure
    height: Measure
    weight: Measure
    weight_source: str
    hinge_side: Side
    action: str
    body: Body
    settings: dict[SettingName, int]


class Fault(Record):
    """Something that is wrong with the door, by the name that :mod:`faults` knows."""

    name: str
    subject: Subject


class DoorSpec(Record):
    """A whole door. ``sheet`` is what the office knows of it before the visit."""

    title: str
    sheet: Sheet
    leaves: dict[Side, LeafSpec]
    operator: Operator
    plate_height: dict[Subject, Measure]
    plate_distance: dict[Subject, Measure]
    sign_height: dict[Subject, Measure]
    swing: str
    lock: str
    faults: tuple[Fault, ...] = ()
