"""A finding: what a check says of one rule. A door that fails raises nothing."""

from __future__ import annotations

from decimal import Decimal
from enum import StrEnum

from handsfree.job.quantity import Quantity
from handsfree.job.reading import Subject
from handsfree.job.record import Record


class Verdict(StrEnum):
    """The outcome of one rule."""

    PASS = "pass"
    FAIL = "fail"
    TOO_CLOSE = "too close to call"
    NOT_JUDGED = "not judged"


class Finding(Record):
    """One rule applied to one subject.

    ``reading`` and ``limit`` are in ``unit``; ``limit`` is a minimum or a maximum
    according to ``bound`` ('at least' or 'at most'). ``guard_band`` is the doubt, in
    ``unit``, that a reading must clear, ``probability`` (0 to 1) that the true value
    keeps the limit. ``source`` names limit set, clause and status.
    ``why`` is one spoken sentence on how the limit came about; ``advice`` what to do.
    """

    rule: str
    subject: Subject
    quantity: Quantity | None
    verdict: Verdict
    reading: Decimal | None = None
    limit: Decimal | None = None
    bound: str | None = None
    unit: str = ""
    guard_band: Decimal | None = None
    probability: Decimal | None = None
    source: str = ""
    why: str = ""
    advice: str = ""
    reading_id: str | None = None
