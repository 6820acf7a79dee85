"""The base of every event's body."""

from __future__ import annotations

from typing import ClassVar

from handsfree.job.record import Record


class EventBody(Record):
    """The body of an event. ``advances`` is false if it does not move the visit forward."""

    advances: ClassVar[bool] = True


class Reported(EventBody):
    """An event that only reports; the position of the conversation does not change."""

    advances: ClassVar[bool] = False
