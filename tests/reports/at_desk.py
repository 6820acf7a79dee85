"""An office visit in memory: changes become events of its chain, and nothing is written."""

from __future__ import annotations

from datetime import UTC, datetime

from handsfree.checks.limits import load_limits
from handsfree.journal import events as ev
from handsfree.journal import office_events as office
from handsfree.journal.canonical_json import canonical, sha256_of, stamp
from handsfree.journal.reader import Verification
from handsfree.office.change_events import bodies_of
from handsfree.office.changes import Change
from handsfree.visit_record.visit_record import VisitRecord, record_of

AT = datetime(2100, 3, 5, 8, 0, tzinfo=UTC)
LIMITS = load_limits("a156.19")


class AtDesk:
    """The events of a visit, and the office's changes to them."""

    def __init__(self, events: tuple[ev.Event, ...]) -> None:
        self.events = events

    @property
    def head(self) -> str:
        return sha256_of(canonical(self.events[-1]))

    def record(self) -> VisitRecord:
        whole = Verification(
            whole=True, lines=len(self.events), clips=0, recovered=0, head=self.head
        )
        return record_of(self.events, whole)

    def change(self, change: Change, by: str = "A. Okoro") -> tuple[ev.Body, ...]:
        """Makes a change and returns its events' bodies."""
        bodies = bodies_of(change, self.record(), by, lambda: LIMITS)
        self.add(*bodies)
        return bodies

    def add(self, *bodies: ev.Body) -> None:
        for body in bodies:
            event = ev.Event(seq=len(self.events) + 1, at=stamp(AT), body=body, prev=self.head)
            self.events = (*self.events, event)

    def confirm_all(self) -> None:
        self.add(
            *(office.ReadingConfirmed(reading_id=i.id, by="x") for i in self.record().standing)
        )
