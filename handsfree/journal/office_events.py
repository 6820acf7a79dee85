"""The events that the office adds to a visit: nothing is overwritten, old and new both stand.

``by`` is the person at the desk, ``why`` their reason in their own words. The time is that of
the event.
"""

from __future__ import annotations

from typing import Literal

from pydantic import model_validator

from handsfree.job.job import refuse_unknown_value
from handsfree.job.reading import Subject
from handsfree.job.record import Count
from handsfree.job.unit import Measure
from handsfree.journal.event_body import Reported


class ReadingConfirmed(Reported):
    """The office listened to a reading, and it is what was said."""

    kind: Literal["reading_confirmed"] = "reading_confirmed"
    reading_id: str
    by: str


class ReadingAmended(Reported):
    """The office corrected a reading; it was judged anew in the event after this one."""

    kind: Literal["reading_amended"] = "reading_amended"
    reading_id: str
    old: Measure
    new: Measure
    by: str
    why: str


class ReadingStruck(Reported):
    """The office took a reading out: it was never meant as one. The journal keeps it."""

    kind: Literal["reading_struck"] = "reading_struck"
    reading_id: str
    by: str
    why: str


class FactAmended(Reported):
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


class MeaningAmended(Reported):
    """The office says what the utterance of event ``seq`` was, in words.

    It changes no value: what came of the utterance is amended for itself.
    """

    kind: Literal["meaning_amended"] = "meaning_amended"
    seq: Count
    old: str
    new: str
    by: str
    why: str


class NoteAmended(Reported):
    """The office writes down what the note of event ``seq`` says."""

    kind: Literal["note_amended"] = "note_amended"
    seq: Count
    old: str
    new: str
    by: str
    why: str


class OpenDecided(Reported):
    """The office's decision on something that was left open, skipped or is not in order."""

    kind: Literal["open_decided"] = "open_decided"
    key: str
    decision: Literal["accepted", "return_visit", "not_applicable"]
    by: str
    why: str


class SignedOff(Reported):
    """The office signs the visit off as it stood at ``head``, the hash of the line before."""

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
