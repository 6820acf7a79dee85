"""A finding: the result of one rule. A door that fails raises nothing."""

from __future__ import annotations

from collections.abc import Iterable
from enum import StrEnum

from handsfree.job.quantity import Quantity
from handsfree.job.reading import Subject
from handsfree.job.record import Number, Record


class Verdict(StrEnum):
    """The outcome of one rule."""

    PASS = "pass"
    FAIL = "fail"
    TOO_CLOSE = "too close to call"
    NOT_JUDGED = "not judged"


class Binding(StrEnum):
    """The force of a rule: it must be kept, or a standard's annex only recommends it."""

    REQUIREMENT = "requirement"
    RECOMMENDATION = "recommendation"


class Finding(Record):
    """One rule applied to one subject.

    ``reading`` and ``limit`` are in ``unit``; ``limit`` is a minimum or a maximum
    according to ``bound`` ('at least' or 'at most'). ``guard_band`` is the margin, in
    ``unit``, by which a reading must clear the limit, ``probability`` (0 to 1) that the true value
    keeps the limit. ``source`` names limit set, clause and status. A recommendation that
    is not kept ('fail') is reported and does not fail the door.
    ``why`` is one spoken sentence on how the limit came about; ``advice`` what to do. ``note``
    is the caveat of a pass: that one of its runs fails, or that they differ. ``runs`` is the
    number of runs behind it, 0 where there is none or the journal does not have it.
    """

    rule: str
    subject: Subject
    quantity: Quantity | None
    verdict: Verdict
    reading: Number | None = None
    limit: Number | None = None
    bound: str | None = None
    unit: str = ""
    guard_band: Number | None = None
    probability: Number | None = None
    source: str = ""
    why: str = ""
    advice: str = ""
    note: str = ""
    runs: int = 0
    reading_id: str | None = None
    binding: Binding = Binding.REQUIREMENT


def ruling(findings: Iterable[Finding]) -> Verdict | None:
    """The worst verdict among the requirements, or None where there is none."""
    verdicts = {f.verdict for f in findings if f.binding is Binding.REQUIREMENT}
    order = (Verdict.FAIL, Verdict.TOO_CLOSE, Verdict.NOT_JUDGED, Verdict.PASS)
    return next((verdict for verdict in order if verdict in verdicts), None)
