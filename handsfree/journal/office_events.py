"""Events that the office adds to a visit. Nothing is overwritten: old and new values both remain.

``by`` is the person at the desk, ``why`` their reason in their own words. The time is that of the
event.
"""

from __future__ import annotations

from typing import Literal

from pydantic import model_validator

from handsfree.job.job import refuse_unknown_value
from handsfree.job.reading import Subject
from handsfree.job.record import Count, Record
from handsfree.job.unit import Measure


class ReadingConfirmed(Record):
    """The office listened to a reading and confirmed it."""

    kind: Literal["reading_confirmed"] = "reading_confirmed"
    reading_id: str
    by: str


class ReadingAmended(Record):
    """The office corrected a reading; the next event holds its new findings."""

    kind: Literal["reading_amended"] = "reading_amended"
    reading_id: str
    old: Measure
    new: Measure
    by: str
    why: str


class ReadingStruck(Record):
    """The office removed a reading that was never meant as one. The journal keeps it."""

    kind: Literal["reading_struck"] = "reading_struck"
    reading_id: str
    by: str
    why: str


class FactAmended(Record):
    """The office corrected a choice or an observation."""

    kind: Literal["fact_amended"] = "fact_amended"
    subject: Subject
    name: str
    old: str
    new: str
    by: str
    why: str

    @model_validator(mode="after")
    def _known(self) -> FactAmended:
        refuse_unknown_value(self.subject, self.name, self.new)
        return self


class MeaningAmended(Record):
    """The office stated in words what the utterance of event ``seq`` was.

    This changes no value: readings and facts from the utterance are amended separately.
    """

    kind: Literal["meaning_amended"] = "meaning_amended"
    seq: Count
    old: str
    new: str
    by: str
    why: str


class NoteAmended(Record):
    """The office wrote down what the note of event ``seq`` says."""

    kind: Literal["note_amended"] = "note_amended"
    seq: Count
    old: str
    new: str
    by: str
    why: str


class OpenDecided(Record):
    """The office's decision on something left open, skipped, or not in order."""

    kind: Literal["open_decided"] = "open_decided"
    key: str
    decision: Literal["accepted", "return_visit", "not_applicable"]
    by: str
    why: str


class SignedOff(Record):
    """The office signed the visit off at ``head``, the hash of the line before."""

    kind: Literal["signed_off"] = "signed_off"
    by: str
    head: str


OfficeBody = (
    ReadingConfirmed
    | ReadingAmended
    | ReadingStruck
    | FactAmended
    | MeaningAmended
    | NoteAmended
    | OpenDecided
    | SignedOff
)
