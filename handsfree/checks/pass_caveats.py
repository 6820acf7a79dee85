"""Caveats of a pass by the mean of several runs: one run fails, or the runs differ."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from handsfree.checks.measurement_uncertainty import DOOR_SD_S, Bound, Uncertainty
from handsfree.checks.number_format import figure, measured
from handsfree.job.finding import Finding, Verdict
from handsfree.job.unit import Unit
from handsfree.language.wording import Wording


def note_of(w: Wording, doubt: Uncertainty, limit: Decimal, bound: Bound, verdict: Verdict) -> str:
    """The caveat of a pass; '' without one, and for any other verdict.

    ``limit`` is in the doubt's unit.
    """
    if verdict is not Verdict.PASS:
        return ""
    worst = doubt.lowest if bound == "at least" else doubt.highest
    beyond = worst < limit if bound == "at least" else worst > limit
    told = []
    if beyond:
        told.append(w.say("one_run_fails", worst=measured(w, worst, doubt.unit, limit)))
    if doubt.varies:
        told.append(
            w.say(
                "runs_differ",
                low=measured(w, doubt.lowest, doubt.unit),
                high=measured(w, doubt.highest, doubt.unit),
            )
        )
    return noted(*told)


def one_run(findings: Iterable[Finding]) -> str:
    """The caveat of a time that rests on a single run; '' without such a finding."""
    if not any(found.runs == 1 and found.unit == Unit.SECOND for found in findings):
        return ""
    return (
        "a single run can't show how much the door varies from run to run, so "
        f"{figure(Decimal(repr(DOOR_SD_S)))} seconds are allowed for that; three runs would show it"
    )


def looser(w: Wording, than: str) -> str:
    """The caveat that a company's value allows more than the extended set; '' if it does not."""
    return w.say("looser_than", base=than) if than else ""


def noted(*told: str) -> str:
    """Joins several notes into one."""
    return "; ".join(each for each in told if each)
