"""The last visit's readings next to the new ones, as rows of a page."""

from __future__ import annotations

from typing import NamedTuple

from handsfree.visit_record.event_words import quantity_words, with_unit
from handsfree.visit_record.visit_record import VisitRecord


class LastVisitRow(NamedTuple):
    """A quantity measured at both visits: name, value as left then, value as left now."""

    what: str
    before: str
    now: str


def last_visit_rows(visit: VisitRecord) -> tuple[LastVisitRow, ...]:
    """A row for every quantity measured at both visits, in the order of this visit."""
    last = visit.last_visit
    if last is None:
        return ()
    rows: list[LastVisitRow] = []
    for measured in visit.quantities:
        before = last.value(measured.quantity, measured.subject)
        if before is not None:
            what = f"{measured.subject}, {quantity_words(measured.quantity)}"
            now = ", ".join(with_unit(value, measured.unit) for value in measured.as_left)
            rows.append(LastVisitRow(what, with_unit(before.value, before.unit), now))
    return tuple(rows)
