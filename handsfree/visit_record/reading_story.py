"""A reading with everything that happened to it, and a quantity with all its attempts."""

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
    """Reason that a reading no longer stands: withdrawn in the visit, or struck by the office."""

    how: Literal["withdrawn", "struck"]
    seq: int
    at: str
    by: str
    why: str = ""


class Confirmation(Record):
    """The office found a reading right. A later amendment ends it.

    ``together`` when it was not listened to, but confirmed with others after a sample of them.
    """

    seq: int
    at: str
    by: str
    together: bool = False


class RelativeDoubt(Record):
    """Doubt of a reading compared with the others, 0 (none) to 1, with the reasons.

    ``alone`` when it is to be confirmed for itself, and never together with others.
    """

    score: float
    why: tuple[str, ...] = ()
    alone: bool = False


class ReadingStory(Record):
    """A reading with its whole story.

    ``accepted`` is as the technician affirmed it (event ``seq``; ``how`` says whether by a word of
    its own), ``now`` as it is after the
    amendments. ``heard_seq`` is the utterance or the run of the clock that it was heard in, and
    ``clip`` its sound; both None where the journal does not say. ``place`` is None for one that
    is gone. ``findings`` are the current ones that name it: they stand at the last run of an
    attempt.
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
    doubt: RelativeDoubt = RelativeDoubt(score=0.0)

    @property
    def id(self) -> str:
        """The reading's id: r1, r2, ..."""
        return self.accepted.id

    @property
    def attempt(self) -> Attempt:
        """The attempt that it is a run of."""
        return self.now.subject, self.now.quantity, self.now.attempt

    @property
    def confirmation(self) -> Confirmation | None:
        """The last confirmation of its present value; one together counts without doubt only."""
        last = self.amendments[-1].seq if self.amendments else 0
        counts = (c for c in self.confirmations if c.seq > last)
        counts = (c for c in counts if not (c.together and (last or self.doubt.alone)))
        return max(counts, key=lambda c: (not c.together, c.seq), default=None)

    @property
    def confirmed_by(self) -> str | None:
        """The person who confirmed its present value."""
        return self.confirmation.by if self.confirmation is not None else None

    @property
    def reviewed(self) -> bool:
        """True if the office confirmed or corrected it."""
        return bool(self.amendments) or self.confirmation is not None


class MeasuredQuantity(Record):
    """One quantity of one subject: the values of its first and last attempt, and what they mean.

    ``findings`` are the current ones on the last attempt. ``logs`` name the logs of a sensor on the
    leaf that its values came from.
    """

    subject: Subject
    quantity: Quantity
    unit: Unit
    as_found: tuple[Decimal, ...]
    as_left: tuple[Decimal, ...]
    attempts: int
    findings: tuple[Finding, ...] = ()
    logs: tuple[str, ...] = ()
