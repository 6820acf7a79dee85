"""The events of a fault that was found: named, worked on, proved."""

from __future__ import annotations

from typing import Literal

from handsfree.job.fault_kinds import FaultName, PartName, WorkName
from handsfree.job.reading import Subject
from handsfree.journal.event_body import EventBody


class FaultFound(EventBody):
    """A fault was named at the door, read back and affirmed; ``clip`` is its sound."""

    kind: Literal["fault_found"] = "fault_found"
    subject: Subject
    name: FaultName
    clip: str | None = None


class FaultWorked(EventBody):
    """Work on the fault of ``key``: 'left leaf/arm_loose'.

    ``part`` is the replaced or repaired part, ``cause`` the cause named by a search; either may be
    None.
    """

    kind: Literal["fault_worked"] = "fault_worked"
    key: str
    work: WorkName
    part: PartName | None = None
    cause: str | None = None
    clip: str | None = None


class FaultProved(EventBody):
    """The repair of the fault of ``key`` was proved.

    ``by`` is 'observation' for the answer of a step, 'looked' for a separate question; ``what`` is
    the observation, or the question as asked.
    """

    kind: Literal["fault_proved"] = "fault_proved"
    key: str
    by: Literal["observation", "looked"]
    what: str


FaultBody = FaultFound | FaultWorked | FaultProved
