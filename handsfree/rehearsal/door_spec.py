"""The immutable description of a rehearsal's door, as loaded from its file."""

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
    """A leaf's measurable sizes, its body, and its settings.

    ``width``, ``height`` and ``weight`` are the values on tape and label.
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
    """A fault of the door, by its name in :mod:`faults`."""

    name: str
    subject: Subject


class DoorSpec(Record):
    """A complete door. ``sheet`` is the office's knowledge of it before the visit."""

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
