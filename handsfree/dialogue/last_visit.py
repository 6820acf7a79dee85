"""Says the last visit's readings after the new ones ('Last year, five point one.')."""

from __future__ import annotations

from collections.abc import Sequence

from handsfree.dialogue.turn import Turn
from handsfree.job.reading import Reading


def tell(turn: Turn, filed: Sequence[Reading]) -> None:
    """Says the reading of the last visit, once: after the first run of the first attempt."""
    last, w = turn.job.sheet.last_visit, turn.words
    if last is None:
        return
    told: list[str] = []
    for reading in filed:
        before = last.value(reading.quantity, reading.subject)
        if before is None or (reading.attempt, reading.run) != (1, 1):
            continue
        same = before.unit is reading.unit
        value = w.number(before.value) if same else w.measure(before.value, before.unit)
        name = f"{w.subject(reading.subject)}, {w.quantity(reading.quantity)}, "
        told.append(f"{name if len(filed) > 1 else ''}{value}")
    if told:
        name = "last_year_value" if last.last_year else "last_visit_value"
        turn.tell(name, "finding", value="; ".join(told))
