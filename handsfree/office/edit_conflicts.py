"""Two people at one visit: what happened since a form was made, and whether it concerns it.

A form carries the head of the journal that it was made from. What came after that head is shown
to whoever sends the form, and asked again, where it is about the same thing.
"""

from __future__ import annotations

from collections.abc import Sequence

from handsfree.journal import events as ev
from handsfree.journal import office_events as office
from handsfree.office.changes import (
    Amend,
    AmendFact,
    AmendMeaning,
    AmendNote,
    Change,
    Confirm,
    Decide,
    Strike,
)

Thing = tuple[str, str]


def since(events: Sequence[ev.Event], last: str, head: str) -> Sequence[ev.Event] | None:
    """The events after the line whose hash is ``head``; ``last`` is the hash of the last line.

    None when no line has that hash: the form was made from another journal.
    """
    if head == last:
        return ()
    for nth in range(len(events) - 1, -1, -1):
        if events[nth].prev == head:
            return events[nth:]
    return None


def clashing(later: Sequence[ev.Event], change: Change) -> tuple[ev.Event, ...]:
    """Those of the later events that are about what the change is about."""
    mine = about_change(change)
    if mine is None:
        return tuple(later)
    return tuple(
        event
        for event in later
        if (theirs := about_event(event.body)) is None or not mine.isdisjoint(theirs)
    )


def about_change(change: Change) -> frozenset[Thing] | None:
    """What a change is about; None for a sign-off, which concerns everything."""
    match change:
        case Confirm(reading_id=name) | Amend(reading_id=name) | Strike(reading_id=name):
            return frozenset({("reading", name)})
        case AmendFact(subject=subject, name=name):
            return frozenset({("fact", f"{subject}/{name}")})
        case AmendMeaning(seq=seq):
            return frozenset({("meaning", str(seq))})
        case AmendNote(seq=seq):
            return frozenset({("note", str(seq))})
        case Decide(key=key):
            return frozenset({("matter", key)})
        case _:
            return None


def about_event(body: ev.Body) -> frozenset[Thing] | None:
    """What an event is about: nothing for most of what a visit itself writes.

    None for a sign-off, which concerns everything.
    """
    match body:
        case (
            office.ReadingConfirmed(reading_id=name)
            | office.ReadingAmended(reading_id=name)
            | office.ReadingStruck(reading_id=name)
            | ev.ReadingWithdrawn(reading_id=name)
        ):
            return frozenset({("reading", name)})
        case ev.ReadingAccepted(reading=reading):
            return frozenset({("reading", reading.id)})
        case office.FactAmended(subject=subject, name=name):
            key = f"{subject}/{name}"
            return frozenset({("fact", key), ("matter", key)})
        case ev.FactAccepted(fact=fact):
            key = f"{fact.subject}/{fact.name}"
            return frozenset({("fact", key), ("matter", key)})
        case ev.Judged(findings=findings):
            return frozenset({("matter", f"{f.subject}/{f.rule}") for f in findings})
        case office.MeaningAmended(seq=seq):
            return frozenset({("meaning", str(seq))})
        case office.NoteAmended(seq=seq):
            return frozenset({("note", str(seq))})
        case office.OpenDecided(key=key):
            return frozenset({("matter", key)})
        case ev.StepEntered(key=key) | ev.StepEnded(key=key) | ev.OpenSettled(key=key):
            return frozenset({("matter", key)})
        case office.SignedOff():
            return None
        case _:
            return frozenset()
