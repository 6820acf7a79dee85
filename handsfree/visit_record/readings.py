"""The readings of a visit: the source of each, its corrections, and the current findings."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any, Literal, NamedTuple

from handsfree.job.closed_lists import Accepted
from handsfree.job.finding import Finding
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Reading, Subject
from handsfree.job.unit import Measure
from handsfree.journal import events as ev
from handsfree.journal import office_events as office
from handsfree.visit_record.reading_story import (
    Confirmation,
    Gone,
    MeasuredQuantity,
    Place,
    ReadingAmendment,
    ReadingStory,
)
from handsfree.visit_record.review_priority import Hearing, attempt_of, review_score

Key = tuple[Subject, Quantity]
"""A measured quantity: one quantity of one subject."""


class Source(NamedTuple):
    """The utterance or timed run from which a reading came.

    ``unsure`` is true if other words sounded alike, or only a second pass understood these.
    """

    seq: int
    at: str
    text: str
    unsure: bool = False


class Readings:
    """The readings after the events so far.

    The last findings on a reading are the current ones. Amending or striking a reading removes the
    findings on its attempt until the next ``judged`` event.
    """

    def __init__(self) -> None:
        self.by_id: dict[str, Reading] = {}
        """The valid readings with their present values, in the order of acceptance."""
        self.findings: dict[str, tuple[Finding, ...]] = {}
        """Findings by the id of the reading that they name: the last run of its attempt."""
        self.withdrawn = self.amended = self.struck = 0
        """Number of readings withdrawn in the visit, amended, and struck by the office."""
        self._on_key: dict[Key, tuple[Finding, ...]] = {}
        self._of: dict[Key, dict[str, Reading]] = {}
        self._keys: dict[str, Key] = {}
        self._stories: dict[str, ReadingStory] = {}
        self._hearings: dict[str, Hearing] = {}
        self._second: dict[int, Literal["agreed", "differed", "unclear"]] = {}
        self._noisy = False
        self._taken_back: set[Key] = set()
        self._by_clip: dict[str, Source] = {}
        self._by_value: dict[Decimal, Source] = {}
        self._last: Source | None = None

    def apply(self, event: ev.Event, technician: str, refusals: int) -> None:
        """Follows one event.

        ``refusals`` counts the utterances refused or not understood since the last filed value.
        """
        body, seq, at = event.body, event.seq, event.at
        match body:
            case ev.Heard(text=text, clip=clip, meaning=meaning):
                unsure = body.retried or bool(body.may_be)
                self._heard(Source(seq, at, text, unsure), clip, _values(meaning))
            case ev.SecondHeard(heard=heard, outcome=outcome):
                self._second[heard] = outcome
            case ev.ConfirmSet(confirm=confirm, why=why):
                self._noisy = confirm == "every" and why == "noise"
            case ev.CycleTimed(clip=clip):
                self._heard(Source(seq, at, ""), clip)
            case ev.ReadingAccepted(reading=reading, how=how):
                self._accept(event, reading, how, refusals)
            case ev.ReadingWithdrawn(reading_id=name):
                self.withdrawn += 1
                if name in self._keys:
                    self._taken_back.add(self._keys[name])
                self._remove(name, Gone(how="withdrawn", seq=seq, at=at, by=technician))
            case office.ReadingStruck(reading_id=name, by=by, why=why):
                self.struck += 1
                self._unjudge(name)
                self._remove(name, Gone(how="struck", seq=seq, at=at, by=by, why=why))
            case office.ReadingAmended(reading_id=name, new=new, old=old, by=by, why=why):
                self.amended += 1
                if name in self.by_id:
                    added = ReadingAmendment(seq=seq, at=at, by=by, why=why, old=old, new=new)
                    self._amend(name, new, added)
            case office.ReadingConfirmed(reading_id=name, by=by) if name in self._stories:
                confirmed = Confirmation(seq=seq, at=at, by=by)
                self._tell(name, confirmations=(*self._stories[name].confirmations, confirmed))
            case office.ReadingsConfirmed(reading_ids=names, by=by):
                confirmed = Confirmation(seq=seq, at=at, by=by, together=True)
                for name in self._stories.keys() & set(names):
                    self._tell(name, confirmations=(*self._stories[name].confirmations, confirmed))
            case ev.Judged(findings=findings):
                self._judge(findings)

    def of(self, key: Key) -> tuple[Reading, ...]:
        """The valid readings of one quantity of one subject, oldest first."""
        return tuple(self._of.get(key, {}).values())

    def measured(self) -> tuple[Key, ...]:
        """Readings in the order of the first one that stands."""
        return tuple(dict.fromkeys((r.subject, r.quantity) for r in self.by_id.values()))

    def as_left(self, key: Key) -> tuple[Finding, ...]:
        """The current findings on the last attempt at a quantity."""
        mine = self.of(key)
        last = {r.id for r in mine if r.attempt == mine[-1].attempt}
        return tuple(f for f in self._on_key.get(key, ()) if f.reading_id in last)

    def quantities(self) -> tuple[MeasuredQuantity, ...]:
        """Measured quantities in the order of the first valid reading."""
        return tuple(self._quantity(key) for key in self.measured())

    def stories(self) -> tuple[ReadingStory, ...]:
        """Every reading ever accepted, in that order, with the current findings."""
        attempts = {
            (*key, number): _Attempt(tuple(runs), mine[0].attempt, mine[-1].attempt)
            for key in self.measured()
            for mine in (self.of(key),)
            for number, runs in _by_attempt(mine).items()
        }
        return tuple(
            self._finished(story, attempts.get(story.attempt)) for story in self._stories.values()
        )

    def _heard(self, source: Source, clip: str | None, values: Iterable[Decimal] = ()) -> None:
        self._last = source
        self._by_value |= dict.fromkeys(values, source)
        if clip is not None:
            self._by_clip[clip] = source

    def _accept(self, event: ev.Event, reading: Reading, how: Accepted, refusals: int) -> None:
        """Adds an accepted reading. A typed one has no clip: its source is the last utterance with
        its value.
        """
        key = (reading.subject, reading.quantity)
        self._keys[reading.id] = key
        self.by_id[reading.id] = self._of.setdefault(key, {})[reading.id] = reading
        source = self._by_clip.get(reading.clip or "")
        if source is None:
            source = self._by_value.get(reading.value, self._last)
        heard_seq, heard_at, heard, unsure = source or (None, None, "", False)
        self._hearings[reading.id] = Hearing(
            again=refusals,
            how=how,
            noisy=self._noisy,
            unsure=unsure,
            taken_back=key in self._taken_back,
        )
        self._stories[reading.id] = ReadingStory(
            accepted=reading,
            now=reading,
            seq=event.seq,
            at=event.at,
            how=how,
            heard_seq=heard_seq,
            heard_at=heard_at,
            heard=heard,
            clip=reading.clip,
        )

    def _amend(self, name: str, new: Measure, added: ReadingAmendment) -> None:
        amended = self.by_id[name].model_copy(update={"value": new.value, "unit": new.unit})
        self.by_id[name] = self._of[self._keys[name]][name] = amended
        self._unjudge(name)
        self._tell(name, now=amended, amendments=(*self._stories[name].amendments, added))

    def _remove(self, name: str, gone: Gone) -> None:
        if self.by_id.pop(name, None) is not None:
            del self._of[self._keys[name]][name]
        if name in self._stories:
            self._tell(name, gone=gone)

    def _tell(self, name: str, **update: object) -> None:
        self._stories[name] = self._stories[name].model_copy(update=update)

    def _judge(self, findings: Iterable[Finding]) -> None:
        by_key: dict[Key, list[Finding]] = {}
        by_reading: dict[str, list[Finding]] = {}
        for found in findings:
            key = self._keys.get(found.reading_id or "")
            if key is not None and found.reading_id is not None:
                by_key.setdefault(key, []).append(found)
                by_reading.setdefault(found.reading_id, []).append(found)
        for key, mine in by_key.items():
            readings = self._of[key]
            last = [readings[f.reading_id].attempt for f in mine if f.reading_id in readings]
            # A finding 'as found' may be renewed; it does not count as 'as left'.
            if not last or not readings or max(last) == next(reversed(readings.values())).attempt:
                self._on_key[key] = tuple(mine)
        for reading_id, named in by_reading.items():
            # A judged run replaces the earlier runs of its attempt.
            self._clear(reading_id)
            self.findings[reading_id] = tuple(named)

    def _unjudge(self, name: str) -> None:
        """Removes the findings on a reading's attempt, because they refer to old values."""
        if name not in self.by_id:
            return
        self._clear(name)
        key = self._keys[name]
        if self.by_id[name].attempt == self.of(key)[-1].attempt:
            self._on_key.pop(key, None)

    def _clear(self, name: str) -> None:
        """Removes the findings that name a reading of the same attempt."""
        mine = self._of[self._keys[name]]
        reading = mine.get(name)
        self.findings.pop(name, None)
        for each in mine.values() if reading is not None else ():
            if reading is not None and each.attempt == reading.attempt:
                self.findings.pop(each.id, None)

    def _quantity(self, key: Key) -> MeasuredQuantity:
        mine = self.of(key)
        return MeasuredQuantity(
            subject=key[0],
            quantity=key[1],
            unit=mine[-1].unit,
            as_found=tuple(r.value for r in mine if r.attempt == mine[0].attempt),
            as_left=tuple(r.value for r in mine if r.attempt == mine[-1].attempt),
            attempts=mine[-1].attempt,
            findings=self.as_left(key),
            logs=tuple(
                dict.fromkeys(r.log for r in mine if r.log and r.attempt == mine[-1].attempt)
            ),
        )

    def _finished(self, story: ReadingStory, attempt: _Attempt | None) -> ReadingStory:
        if story.gone is not None or attempt is None:
            return story
        findings = self.findings.get(story.id, ())
        # The findings on an attempt are attached to its last run, but concern every run of it.
        of_attempt = findings or self.findings.get(attempt.runs[-1].id, ())
        hearing = self._hearings[story.id]
        doubt = review_score(
            story.now,
            of_attempt,
            attempt.spread,
            hearing._replace(second=self._second.get(story.heard_seq or 0)),
            superseded=story.now.attempt != attempt.last,
        )
        place = _place(story.now.attempt, attempt.first, attempt.last)
        return story.model_copy(update={"findings": findings, "doubt": doubt, "place": place})


class _Attempt:
    """The valid runs of an attempt, and the first and last attempt at their quantity."""

    def __init__(self, runs: tuple[Reading, ...], first: int, last: int) -> None:
        self.runs, self.first, self.last = runs, first, last
        self.spread = attempt_of(runs)


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
    """The numbers given in an utterance."""
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
    """True if a text is a finite number: a journal can contain anything here."""
    return isinstance(value, str) and value.replace(".", "", 1).replace("-", "", 1).isdecimal()
