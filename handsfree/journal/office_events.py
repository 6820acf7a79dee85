"""Events that the office adds to a visit. Nothing is overwritten: old and new values both remain.

``by`` is the person at the desk, ``why`` the reason in that person's words.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Mapping, Sequence
from typing import Literal

from pydantic import model_validator

from handsfree.job.job import refuse_unknown_value
from handsfree.job.reading import Subject
from handsfree.job.record import Count
from handsfree.job.unit import Measure
from handsfree.job.visit_fact import VISIT_FACTS
from handsfree.journal.event_body import Reported
from handsfree.journal.plain_words import step_words, words_of
from handsfree.language.visit_fact_words import fact_name, shown_value
from handsfree.language.wording import Wording, wording

Thing = tuple[str, str]
"""Something that several people in the office may edit at the same time: ('reading', 'r1')."""
_UTC = re.compile(r"\d{4}-[01]\d-[0-3]\dT[0-2]\d:[0-5]\d:[0-5]\d\.\d{3}Z")
DECISIONS = {
    "accepted": "accepted as it is",
    "return_visit": "a return visit",
    "not_applicable": "does not apply",
}
"""Decisions of the office, in print."""


class ReadingConfirmed(Reported):
    """The office listened to a reading and confirmed it."""

    kind: Literal["reading_confirmed"] = "reading_confirmed"
    reading_id: str
    by: str


class SampleDrawn(Reported):
    """The office drew the readings to listen to of a ``pool`` that it confirms together.

    At least a tenth of the pool is ``drawn``, in the order that ``seed`` gives (:func:`draw`).
    """

    kind: Literal["sample_drawn"] = "sample_drawn"
    seed: str
    pool: tuple[str, ...]
    drawn: tuple[str, ...]
    by: str

    @model_validator(mode="after")
    def _drawn_by_the_seed(self) -> SampleDrawn:
        count = len(self.drawn)
        if count < sample_size(len(self.pool)) or self.drawn != draw(self.pool, self.seed)[:count]:
            raise ValueError("the sample is not the one that its seed draws")
        return self


class ReadingsConfirmed(Reported):
    """The office confirmed readings together: typed ones, or the rest of a sample's pool."""

    kind: Literal["readings_confirmed"] = "readings_confirmed"
    reading_ids: tuple[str, ...]
    by: str


class ReadingAmended(Reported):
    """The office corrected a reading; the next event holds its new findings."""

    kind: Literal["reading_amended"] = "reading_amended"
    reading_id: str
    old: Measure
    new: Measure
    by: str
    why: str


class ReadingStruck(Reported):
    """The office removed a reading that was not meant as one. The journal keeps it."""

    kind: Literal["reading_struck"] = "reading_struck"
    reading_id: str
    by: str
    why: str


class Correction(Reported):
    """The office corrected words; the journal keeps both the ``old`` and the ``new`` ones."""

    old: str
    new: str
    by: str
    why: str


class FactAmended(Correction):
    """The office corrected a choice or an observation."""

    kind: Literal["fact_amended"] = "fact_amended"
    subject: Subject
    name: str

    @model_validator(mode="after")
    def _known(self) -> FactAmended:
        refuse_unknown_value(self.subject, self.name, self.new)
        return self


class VisitFactAmended(Correction):
    """The office corrected, filled in or struck out a visit fact.

    ``seq`` is the line that stated it, None if nobody did. ``new`` is '' if it was struck out; for
    a moment ``old`` and ``new`` are times (UTC).
    """

    kind: Literal["visit_fact_amended"] = "visit_fact_amended"
    seq: Count | None = None
    subject: Subject = Subject.OPENING
    name: str

    @model_validator(mode="after")
    def _known(self) -> VisitFactAmended:
        fact = VISIT_FACTS.get(self.name)
        if fact is None or self.name == "photo":
            raise ValueError(f"there is no visit fact '{self.name[:40]}'")
        if self.seq is None and not self.new:
            raise ValueError("what nobody stated cannot be struck out")
        if fact.takes != "moment":
            fact.refuse(self.subject, self.new or self.old)
        elif self.new and not _UTC.fullmatch(self.new):
            raise ValueError(f"'{self.new[:40]}' is no time in UTC")
        return self


class MeaningAmended(Correction):
    """The office stated in words what was said in the utterance of event ``seq``.

    This changes no value: readings and facts from the utterance are amended separately.
    """

    kind: Literal["meaning_amended"] = "meaning_amended"
    seq: Count


class NoteAmended(Correction):
    """The office wrote down what the note or the reason of event ``seq`` says."""

    kind: Literal["note_amended"] = "note_amended"
    seq: Count


class OpenDecided(Reported):
    """The office decided on something left open, skipped, or not OK."""

    kind: Literal["open_decided"] = "open_decided"
    key: str
    decision: Literal["accepted", "return_visit", "not_applicable"]
    by: str
    why: str


class SignedOff(Reported):
    """The office signed the visit off at ``head``, the hash of the line before."""

    kind: Literal["signed_off"] = "signed_off"
    by: str
    head: str


OfficeBody = (
    ReadingConfirmed
    | SampleDrawn
    | ReadingsConfirmed
    | ReadingAmended
    | ReadingStruck
    | FactAmended
    | VisitFactAmended
    | MeaningAmended
    | NoteAmended
    | OpenDecided
    | SignedOff
)


def sample_size(pool: int) -> int:
    """The smallest size of a sample: a tenth of the pool, at least one."""
    return -(-pool // 10)


def draw(pool: Sequence[str], seed: str) -> tuple[str, ...]:
    """The ids of a pool in the order drawn by a seed: sorted by the SHA-256 of 'seed/id'."""
    return tuple(sorted(pool, key=lambda each: hashlib.sha256(f"{seed}/{each}".encode()).digest()))


def things_of(body: OfficeBody) -> frozenset[Thing] | None:
    """The item changed by an office event; None for a sign-off, which concerns everything."""
    match body:
        case ReadingConfirmed() | ReadingAmended() | ReadingStruck():
            return frozenset({("reading", body.reading_id)})
        case ReadingsConfirmed(reading_ids=ids):
            return frozenset(("reading", each) for each in ids)
        case SampleDrawn():
            return frozenset()
        case FactAmended(subject=subject, name=name):
            return frozenset({("fact", f"{subject}/{name}"), ("matter", f"{subject}/{name}")})
        case VisitFactAmended(subject=subject, name=name):
            return frozenset({("noted", f"{subject}/{name}")})
        case MeaningAmended(seq=seq):
            return frozenset({("meaning", str(seq))})
        case NoteAmended(seq=seq):
            return frozenset({("note", str(seq))})
        case OpenDecided(key=key):
            return frozenset({("matter", key)})
        case SignedOff():
            return None


def change_words(body: OfficeBody, named: Mapping[str, str]) -> str:
    """Describes an office event in one line; ``named`` holds the names of the readings by id."""
    match body:
        case ReadingConfirmed(reading_id=reading_id):
            return f"listened to {_reading(reading_id, named)} and confirmed it"
        case SampleDrawn(pool=pool, drawn=drawn):
            return f"drew {', '.join(drawn)} from {len(pool)} readings, to listen to"
        case ReadingsConfirmed(reading_ids=ids):
            return f"confirmed {len(ids)} readings together"
        case ReadingAmended(reading_id=reading_id, old=old, new=new):
            return f"corrected {_reading(reading_id, named)} from {old} to {new}"
        case ReadingStruck(reading_id=reading_id):
            return f"struck {_reading(reading_id, named)}"
        case FactAmended(subject=subject, name=name):
            values = f"{words_of(body.old) or 'nothing'} to {words_of(body.new)}"
            return f"corrected {subject}, {words_of(name)} from {values}"
        case VisitFactAmended():
            return _filled_in(body)
        case MeaningAmended(seq=seq, new=text):
            return f"wrote what was meant in line {seq}: {text}"
        case NoteAmended(seq=seq, new=text):
            return f"wrote down what is said in line {seq}: {text}"
        case OpenDecided(key=key, decision=decision):
            return f"decided on {step_words(key)}: {DECISIONS[decision]}"
        case SignedOff(head=head):
            return f"signed the visit off as it stood at {head[:12]}"


def _filled_in(body: VisitFactAmended) -> str:
    """'corrected serial number of the operator from A742 to A743'."""
    w = wording()
    what = fact_name(w, body.name, body.subject)
    old, new = (_shown(w, body.name, value) for value in (body.old, body.new))
    if not body.new:
        return f"struck out {what}{f', {old}' if old else ''}"
    return f"corrected {what} from {old} to {new}" if old else f"filled in {what}: {new}"


def _shown(w: Wording, name: str, value: str) -> str:
    if value and VISIT_FACTS[name].takes == "moment":
        return f"{value[:10]} {value[11:16]} UTC"
    return shown_value(w, name, value)


def _reading(reading_id: str, named: Mapping[str, str]) -> str:
    """'left leaf, opening time (r12)'."""
    return f"{named[reading_id]} ({reading_id})" if reading_id in named else f"reading {reading_id}"
