"""The settings of a controller as named in prompts, taken from its guide."""

from __future__ import annotations

from decimal import Decimal

from handsfree.job.quantity import Quantity
from handsfree.job.record import Record


class Entry(Record):
    """One setting in the menu of a controller.

    ``say`` names the menu entry, 'menu twelve'. The setting ranges from ``low`` to ``high``, both
    included, in steps of ``step``, on the controller's own scale. ``save`` says how to store a
    changed value; None if it is stored at once.
    """

    say: str
    low: Decimal
    high: Decimal
    step: Decimal
    save: str | None = None


class Controller(Record):
    """A controller's settings; ``name`` is the name of its file, ``sha256`` its hash."""

    name: str
    title: str
    language: str
    sha256: str
    entries: dict[Quantity, Entry]

    def range(self, setting: Quantity) -> tuple[Decimal, Decimal, Decimal] | None:
        """Lowest value, highest value and step of a setting; None if it is not in the menu."""
        entry = self.entries.get(setting)
        return (entry.low, entry.high, entry.step) if entry else None
