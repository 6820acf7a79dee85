"""Folds the readings with their whole story: where heard, amended, gone, confirmed, judged."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from handsfree.job.reading import Reading
from handsfree.journal import events as ev
from handsfree.journal import office_events as office
from handsfree.reports.current_findings import InForce
from handsfree.reports.dossier_parts import (
    Confirmation,
    Gone,
    Place,
    ReadingAmendment,
    ReadingItem,
)
from handsfree.reports.review_priority import attempt_of, relative_doubt


class Readings:
    """The story of every reading after the events so far: feed it every event in order."""

    def __init__(self, technician: str) -> None:
        self._technician = technician
        self._items: dict[str, ReadingItem] = {}
        self._again: dict[str, int] = {}
        self._by_clip: dict[str, tuple[int, str, str]] = {}
        self._values: dict[Decimal, tuple[int, str, str]] = {}
        self._last: tuple[int, str, str] | None = None

    def take(self, event: ev.Event, again: int) -> None:
        """Follows one event; ``again`` as the talk counts it before this event."""
        body, seq, at = event.body, event.seq, event.at
        match body:
            case ev.Heard(text=text, clip=clip, meaning=meaning):
                self._last = (seq, at, text)
                for value in _values(meaning):
                    self._values[value] = self._last
                if clip is not None:
                    self._by_clip[clip] = self._last
            case ev.CycleTimed(clip=clip):
                self._last = (seq, at, "")
                if clip is not None:
                    self._by_clip[clip] = self._last
            case ev.ReadingAccepted(reading=reading):
                self._again[reading.id] = again
                self._accept(reading, seq, at)
            case ev.ReadingWithdrawn(reading_id=reading_id):
                gone = Gone(how="withdrawn", seq=seq, at=at, by=self._technician)
                self._update(reading_id, gone=gone)
            case office.ReadingStruck(reading_id=reading_id, by=by, why=why):
                gone = Gone(how="struck", seq=seq, at=at, by=by, why=why)
                self._update(reading_id, gone=gone)
            case office.ReadingAmended(reading_id=reading_id, new=new, old=old, by=by, why=why):
                item = self._items.get(reading_id)
                if item is not None and item.gone is None:
                    added = ReadingAmendment(seq=seq, at=at, by=by, why=why, old=old, new=new)
                    now = item.now.model_copy(update={"value": new.value, "unit": new.unit})
                    amendments = (*item.amendments, added)
                    self._update(reading_id, now=now, amendments=amendments)
            case office.ReadingConfirmed(reading_id=reading_id, by=by):
                item = self._items.get(reading_id)
                if item is not None:
                    confirmation = Confirmation(seq=seq, at=at, by=by)
                    self._update(reading_id, confirmations=(*item.confirmations, confirmation))

    def all(self, in_force: InForce) -> tuple[ReadingItem, ...]:
        """Every reading ever accepted, in that order, with the findings in force."""
        attempts = {
            (key, number): _Standing(tuple(runs), mine[0].attempt, mine[-1].attempt)
            for key in in_force.measured()
            for mine in (in_force.of(key),)
            for number, runs in _by_attempt(mine).items()
        }
        return tuple(
            self._finished(
                item,
                in_force,
                attempts.get(((item.now.subject, item.now.quantity), item.now.attempt)),
            )
            for item in self._items.values()
        )

    def _accept(self, reading: Reading, seq: int, at: str) -> None:
        """Typed readings have no clip: the last utterance with their value is theirs."""
        source = self._by_clip.get(reading.clip or "")
        if source is None:
            source = self._values.get(reading.value, self._last)
        heard_seq, heard_at, heard = source or (None, None, "")
        self._items[reading.id] = ReadingItem(
            accepted=reading,
            now=reading,
            seq=seq,
            at=at,
            heard_seq=heard_seq,
            heard_at=heard_at,
            heard=heard,
            clip=reading.clip,
        )

    def _update(self, reading_id: str, **update: object) -> None:
        item = self._items.get(reading_id)
        if item is not None:
            self._items[reading_id] = item.model_copy(update=update)

    def _finished(
        self, item: ReadingItem, in_force: InForce, standing: _Standing | None
    ) -> ReadingItem:
        if item.gone is not None or standing is None:
            return item
        findings = in_force.on_reading.get(item.id, ())
        # The findings on an attempt stand at its last run, and concern every run of it.
        of_attempt = findings or in_force.on_reading.get(standing.runs[-1].id, ())
        doubt = relative_doubt(
            item.now,
            of_attempt,
            standing.together,
            self._again.get(item.id, 0),
            superseded=item.now.attempt != standing.last,
        )
        place = _place(item.now.attempt, standing.first, standing.last)
        return item.model_copy(update={"findings": findings, "doubt": doubt, "place": place})


class _Standing:
    """The runs of an attempt that stand, and the first and last attempt at their quantity."""

    def __init__(self, runs: tuple[Reading, ...], first: int, last: int) -> None:
        self.runs, self.first, self.last = runs, first, last
        self.together = attempt_of(runs)


def _by_attempt(readings: tuple[Reading, ...]) -> dict[int, list[Reading]]:
    runs: dict[int, list[Reading]] = {}
    for reading in readings:
        runs.setdefault(reading.attempt, []).append(reading)
    return runs


def _place(attempt: int, first: int, last: int) -> Place:
    if first == last:
        return "as found and as left"
    if attempt == first:
        return "as found"
    return "as left" if attempt == last else "in between"


def _values(meaning: Mapping[str, Any] | None) -> list[Decimal]:
    """The numbers that an utterance gave."""
    if meaning is None:
        return []
    match meaning.get("kind"):
        case "reading":
            said = [meaning]
        case "readings":
            said = list(meaning.get("readings", ()))
        case "correction":
            said = [meaning.get("reading", {})]
        case _:
            return []
    return [Decimal(each["value"]) for each in said if _is_number(each.get("value"))]


def _is_number(value: object) -> bool:
    """Whether it is the text of a finite number: a journal can hold anything here."""
    return isinstance(value, str) and value.replace(".", "", 1).replace("-", "", 1).isdecimal()
