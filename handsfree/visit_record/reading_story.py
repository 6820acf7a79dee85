"""The history of a reading, and of a quantity with all its attempts."""

from __future__ import annotations

from decimal import Decimal
from typing import Literal

from handsfree.job.closed_lists import Accepted
from handsfree.job.finding import Finding
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Reading, Subject
from handsfree.job.record import Record
from handsfree.job.unit import Measure, Unit

Place = Literal["as found", "as left", "as found and as left", "in between"]
Attempt = tuple[Subject, Quantity, int]
"""An attempt at one quantity of one subject, from 1."""


class ReadingAmendment(Record):
    """One correction of a reading by the office."""

    seq: int
    at: str
    by: str
    why: str
    old: Measure
    new: Measure


class Gone(Record):
    """The reason why a reading no longer counts: withdrawn in the visit, or struck by the
    office.
    """

    how: Literal["withdrawn", "struck"]
    seq: int
    at: str
    by: str
    why: str = ""


class Confirmation(Record):
    """The office confirmed a reading. A later amendment cancels it.

    ``together`` is true if it was confirmed jointly after a sample, without listening to it.
    """

    seq: int
    at: str
    by: str
    together: bool = False


class ReviewScore(Record):
    """The doubt about a reading relative to the others, 0 (none) to 1, with the reasons.

    ``alone`` is true if it has to be confirmed individually.
    """

    score: float
    why: tuple[str, ...] = ()
    alone: bool = False


class ReadingStory(Record):
    """The complete history of a reading.

    ``accepted`` is the reading as affirmed (event ``seq``; ``how`` is the kind of acceptance),
    ``now`` the reading after amendments. ``heard_seq`` is the utterance or timed run in which it
    was heard, and ``clip`` its sound; both are None if the journal does not say. ``place`` is None
    for a withdrawn or struck reading. ``findings`` holds the current findings on it, which are
    attached to the last run of an attempt.
    """

    accepted: Reading
    now: Reading
    seq: int
    at: str
    how: Accepted = "explicit"
    heard_seq: int | None = None
    heard_at: str | None = None
    heard: str = ""
    clip: str | None = None
    amendments: tuple[ReadingAmendment, ...] = ()
    gone: Gone | None = None
    confirmations: tuple[Confirmation, ...] = ()
    place: Place | None = None
    findings: tuple[Finding, ...] = ()
    doubt: ReviewScore = ReviewScore(score=0.0)

    @property
    def id(self) -> str:
        """The reading's id: r1, r2, ..."""
        return self.accepted.id

    @property
    def attempt(self) -> Attempt:
        """The attempt to which it belongs."""
        return self.now.subject, self.now.quantity, self.now.attempt

    @property
    def confirmation(self) -> Confirmation | None:
        """The last confirmation of its present value; a joint one counts only if the reading is
        not doubtful.
        """
        last = self.amendments[-1].seq if self.amendments else 0
        counts = (c for c in self.confirmations if c.seq > last)
        counts = (c for c in counts if not (c.together and (last or self.doubt.alone)))
        return max(counts, key=lambda c: (not c.together, c.seq), default=None)

    @property
    def confirmed_by(self) -> str | None:
        """The person who confirmed its present value, or None."""
        return self.confirmation.by if self.confirmation is not None else None

    @property
    def reviewed(self) -> bool:
        """True if the office confirmed or corrected it."""
        return bool(self.amendments) or self.confirmation is not None


class MeasuredQuantity(Record):
    """One quantity of one subject: the values of its first and last attempt, and the findings.

    ``findings`` holds the current findings on the last attempt. ``logs`` names the logs of a leaf
    sensor from which its values came.
    """

    subject: Subject
    quantity: Quantity
    unit: Unit
    as_found: tuple[Decimal, ...]
    as_left: tuple[Decimal, ...]
    attempts: int
    findings: tuple[Finding, ...] = ()
    logs: tuple[str, ...] = ()
