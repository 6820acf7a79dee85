"""Finds conflicts between two people at one visit: events after a form was made that affect it.

A form carries the head of the journal from which it was made. If later events concern the same
item, the sender of the form sees them and has to confirm.
"""

from __future__ import annotations

from collections.abc import Sequence

from handsfree.journal import events as ev
from handsfree.journal import office_events as office
from handsfree.journal import paper_events as paper
from handsfree.journal.office_events import Thing
from handsfree.office.changes import Change, things_of


def since(events: Sequence[ev.Event], last: str, head: str) -> Sequence[ev.Event] | None:
    """The events after the line whose hash is ``head``; ``last`` is the hash of the last line.

    None if no line has that hash: the form was made from another journal.
    """
    if head == last:
        return ()
    for nth in range(len(events) - 1, -1, -1):
        if events[nth].prev == head:
            return events[nth:]
    return None


def clashing(later: Sequence[ev.Event], change: Change) -> tuple[ev.Event, ...]:
    """The later events that concern what the change concerns."""
    mine = things_of(change)
    if mine is None:
        return tuple(later)
    return tuple(
        event
        for event in later
        if (theirs := about_event(event.body)) is None or not mine.isdisjoint(theirs)
    )


def about_event(body: ev.Body) -> frozenset[Thing] | None:
    """The items that an event concerns: none for most events written by the visit itself.

    None for a sign-off, which concerns everything.
    """
    if isinstance(body, office.OfficeBody):
        return office.things_of(body)
    match body:
        case ev.ReadingWithdrawn(reading_id=name):
            return frozenset({("reading", name)})
        case ev.ReadingAccepted(reading=reading):
            return frozenset({("reading", reading.id)})
        case ev.FactAccepted(fact=fact):
            key = f"{fact.subject}/{fact.name}"
            return frozenset({("fact", key), ("matter", key)})
        case paper.VisitFactKept() | paper.VisitFactWithdrawn():
            return frozenset({("noted", f"{body.subject}/{body.name}")})
        case ev.Judged(findings=findings):
            return frozenset({("matter", f"{f.subject}/{f.rule}") for f in findings})
        case ev.StepEntered(key=key) | ev.StepEnded(key=key) | ev.OpenSettled(key=key):
            return frozenset({("matter", key)})
        case _:
            return frozenset()
