"""The base of every event's body."""

from __future__ import annotations

from typing import ClassVar

from handsfree.job.record import Record


class EventBody(Record):
    """Body of an event. ``advances`` is false for one that does not take the visit forward."""

    advances: ClassVar[bool] = True


class Reported(EventBody):
    """An event that only reports what went on: the conversation stands where it stood."""

    advances: ClassVar[bool] = False
