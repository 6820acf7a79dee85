"""A finding: the result of one rule. A failing door raises no error."""

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
    """The force of a rule: a requirement, or only a recommendation of a standard's annex."""

    REQUIREMENT = "requirement"
    RECOMMENDATION = "recommendation"


class Finding(Record):
    """One rule applied to one subject.

    ``reading`` and ``limit`` are in ``unit``; ``limit`` is a minimum or a maximum according to
    ``bound`` ('at least' or 'at most'). ``guard_band`` is the margin, in ``unit``, by which a
    reading must clear the limit, ``probability`` (0 to 1) that the true value keeps the limit.
    ``source`` names limit set, clause and status. A violated recommendation ('fail') is reported
    but does not fail the door. ``why`` explains the limit in one spoken sentence; ``advice`` says
    what to do. ``note`` is the caveat of a pass: one of its runs fails, or they differ. ``runs`` is
    the number of runs behind the finding, 0 if there is none or the journal does not say.
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
    """The worst verdict among the requirements, or None without any."""
    verdicts = {f.verdict for f in findings if f.binding is Binding.REQUIREMENT}
    order = (Verdict.FAIL, Verdict.TOO_CLOSE, Verdict.NOT_JUDGED, Verdict.PASS)
    return next((verdict for verdict in order if verdict in verdicts), None)
