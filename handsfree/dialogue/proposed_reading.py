"""A reading that was heard but not affirmed yet, and the value that sounds like it."""

from __future__ import annotations

from decimal import Decimal
from typing import Literal

from handsfree.job.quantity import Quantity
from handsfree.job.reading import LargestSpeed, SecondEar, Subject, Taken
from handsfree.job.record import Record
from handsfree.job.unit import Measure, Unit


class Rival(Record):
    """Another value that sounds much like the one heard: fifty for fifteen.

    ``one`` is the word that was heard, ``other`` the one that sounds like it. Both are '' unless
    the values differ by a single word.
    """

    value: Decimal
    one: str = ""
    other: str = ""


class ProposedReading(Record):
    """A reading that is complete and waits for 'affirm'.

    ``subjects`` has two members if it was said for both leaves. ``marks_s``, ``angle_sd_deg``,
    ``log``, ``largest_speed`` and ``known`` are those of ``Reading``; ``cycles`` is the number of
    cycles in the log. ``doubt`` names what may have been misheard: the whole value, which was
    chosen among the usual ones; its unit; or the value, if its ``rival`` is nearly as likely.
    """

    quantity: Quantity
    subjects: tuple[Subject, ...]
    value: Decimal
    unit: Unit
    taken: Taken
    clip: str | None
    rival: Rival | None = None
    marks_s: Decimal | None = None
    angle_sd_deg: Decimal | None = None
    doubt: Literal["value", "unit", "rival"] | None = None
    second_ear: SecondEar | None = None
    log: str | None = None
    cycles: int = 1
    largest_speed: LargestSpeed | None = None
    known: bool = False

    @property
    def measure(self) -> Measure:
        """Value and unit combined."""
        return Measure(value=self.value, unit=self.unit)
