"""The readings that stand and the findings in force on them, folded from the journal's events."""

from __future__ import annotations

from collections.abc import Iterable

from handsfree.job.finding import Finding
from handsfree.job.job import Fact, Job, Sheet
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Reading, Subject
from handsfree.journal import events as ev
from handsfree.journal import office_events as office

Key = tuple[Subject, Quantity]


class InForce:
    """What holds after the events so far: feed it every event's body in order.

    The last findings on a reading rule. A reading that is amended or struck takes those of its
    attempt with it, until the ``judged`` that follows.
    """

    def __init__(self) -> None:
        self.readings: dict[str, Reading] = {}
        """Those that stand, as they are now, in the order of their acceptance."""
        self.on_reading: dict[str, tuple[Finding, ...]] = {}
        """Findings by the reading that they name, the last run of its attempt."""
        self._on_key: dict[Key, tuple[Finding, ...]] = {}
        self._facts: dict[tuple[Subject, str], Fact] = {}
        self._of: dict[Key, dict[str, Reading]] = {}
        self._keys: dict[str, Key] = {}

    def take(self, body: ev.Body) -> None:
        """Follows one event."""
        match body:
            case ev.ReadingAccepted(reading=reading):
                key = (reading.subject, reading.quantity)
                self._keys[reading.id] = key
                self.readings[reading.id] = reading
                self._of.setdefault(key, {})[reading.id] = reading
            case ev.ReadingWithdrawn(reading_id=reading_id):
                self._remove(reading_id)
            case office.ReadingStruck(reading_id=reading_id):
                self._unjudge(reading_id)
                self._remove(reading_id)
            case office.ReadingAmended(reading_id=reading_id, new=new):
                if reading_id in self.readings:
                    update = {"value": new.value, "unit": new.unit}
                    amended = self.readings[reading_id].model_copy(update=update)
                    self.readings[reading_id] = amended
                    self._of[self._keys[reading_id]][reading_id] = amended
                    self._unjudge(reading_id)
            case ev.FactAccepted(fact=fact):
                self._set(fact)
            case office.FactAmended(subject=subject, name=name, new=value):
                self._set(Fact(subject=subject, name=name, value=value))
            case ev.Judged(findings=findings):
                self._judge(findings)

    def job(self, sheet: Sheet) -> Job:
        """The job as it is now."""
        told = Job.open(sheet).model_copy(update={"facts": tuple(self._facts.values())})
        return told.with_only(tuple(self.readings.values()))  # the opening follows both

    def of(self, key: Key) -> tuple[Reading, ...]:
        """The readings of one quantity of one subject that stand, oldest first."""
        return tuple(self._of.get(key, {}).values())

    def measured(self) -> tuple[Key, ...]:
        """What was read, in the order of the first reading that stands."""
        return tuple(dict.fromkeys((r.subject, r.quantity) for r in self.readings.values()))

    def on_last_attempt(self, key: Key) -> tuple[Finding, ...]:
        """The findings on what is left of a quantity."""
        mine = self.of(key)
        current = {r.id for r in mine if r.attempt == mine[-1].attempt}
        return tuple(f for f in self._on_key.get(key, ()) if f.reading_id in current)

    def _set(self, fact: Fact) -> None:
        self._facts.pop((fact.subject, fact.name), None)  # the newest goes last
        self._facts[fact.subject, fact.name] = fact

    def _remove(self, reading_id: str) -> None:
        if self.readings.pop(reading_id, None) is not None:
            del self._of[self._keys[reading_id]][reading_id]

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
            # What was as found may be judged anew; it does not rule what was left.
            if not last or not readings or max(last) == next(reversed(readings.values())).attempt:
                self._on_key[key] = tuple(mine)
        for reading_id, named in by_reading.items():
            # A run that is judged takes the place of the runs before it in its attempt.
            self._clear(reading_id)
            self.on_reading[reading_id] = tuple(named)

    def _unjudge(self, reading_id: str) -> None:
        """Takes the findings on a reading's attempt away: they are on other values."""
        if reading_id not in self.readings:
            return
        self._clear(reading_id)
        key = self._keys[reading_id]
        if self.readings[reading_id].attempt == self.of(key)[-1].attempt:
            self._on_key.pop(key, None)

    def _clear(self, reading_id: str) -> None:
        """Takes the findings away that name a reading of the same attempt."""
        mine = self._of[self._keys[reading_id]]
        reading = mine.get(reading_id)
        self.on_reading.pop(reading_id, None)
        for each in mine.values() if reading is not None else ():
            if reading is not None and each.attempt == reading.attempt:
                self.on_reading.pop(each.id, None)
