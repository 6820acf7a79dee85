"""The office's changes to a visit in plain words, and its sign-offs."""

from __future__ import annotations

from collections.abc import Mapping

from handsfree.job.record import Record
from handsfree.journal import events as ev
from handsfree.journal import office_events as office
from handsfree.visit_record.event_words import quantity_words


class OfficeChange(Record):
    """An office change, in plain words."""

    seq: int
    at: str
    by: str
    kind: str
    what: str
    why: str = ""


class SignOff(Record):
    """A sign-off. ``valid`` is true if it names the journal that it follows, only sign-offs came
    after it, and the journal is intact.
    """

    seq: int
    at: str
    by: str
    head: str
    valid: bool


class Sample(Record):
    """A sample of the readings in a ``pool``, to be listened to before the rest is confirmed."""

    seq: int
    at: str
    by: str
    pool: tuple[str, ...]
    drawn: tuple[str, ...]


class OfficeChanges:
    """The office's changes so far."""

    def __init__(self) -> None:
        self.changes: list[OfficeChange] = []
        self.samples: list[Sample] = []
        self._signed: list[tuple[SignOff, bool]] = []
        self._changed = 0  # the last event that is not a sign-off
        self._named: dict[str, str] = {}

    def apply(self, event: ev.Event) -> None:
        """Follows one event."""
        body = event.body
        if isinstance(body, ev.ReadingAccepted):
            reading = body.reading
            self._named[reading.id] = f"{reading.subject}, {quantity_words(reading.quantity)}"
        if isinstance(body, office.OfficeBody):
            self.changes.append(change_of(event, body, self._named))
        if isinstance(body, office.SampleDrawn):
            told = body.model_dump(include={"by", "pool", "drawn"})
            self.samples.append(Sample(seq=event.seq, at=event.at, **told))
        if isinstance(body, office.SignedOff):
            signed = SignOff(seq=event.seq, at=event.at, by=body.by, head=body.head, valid=False)
            self._signed.append((signed, body.head == event.prev))
        else:
            self._changed = event.seq

    def sign_offs(self, *, whole: bool) -> tuple[SignOff, ...]:
        """Every sign-off; ``whole`` is true if the journal is intact."""
        return tuple(
            signed.model_copy(update={"valid": whole and fits and signed.seq > self._changed})
            for signed, fits in self._signed
        )


def change_of(event: ev.Event, body: office.OfficeBody, named: Mapping[str, str]) -> OfficeChange:
    """An office event in plain words; ``named`` holds the names of the readings by id."""
    return OfficeChange(
        seq=event.seq,
        at=event.at,
        by=body.by,
        kind=body.kind,
        what=office.change_words(body, named),
        why=getattr(body, "why", ""),
    )
