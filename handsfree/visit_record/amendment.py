"""Corrections of words by the office."""

from __future__ import annotations

from handsfree.job.record import Record
from handsfree.journal import events as ev
from handsfree.journal import office_events as office


class Amendment(Record):
    """One correction of words by the office: of a meaning, a note, a choice."""

    seq: int
    at: str
    by: str
    why: str
    old: str
    new: str


def amendment_of(event: ev.Event, body: office.Correction) -> Amendment:
    """The correction made by an office event."""
    return Amendment(
        seq=event.seq, at=event.at, by=body.by, why=body.why, old=body.old, new=body.new
    )
