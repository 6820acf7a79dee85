"""How far a reading may be from the truth, and the decision that allows for it.

The decision rule is that of ILAC-G8:09/2019: with a guard band (4.2.2) a value passes
when it clears the limit by its expanded uncertainty U (95 %), with simple acceptance
(4.2.1) when it clears the limit at all. A value beyond the limit fails either way.

One timed interval has a standard deviation of 0.10 s: one anticipated visual event is
stopped with SD 0.07 s, and an interval has two ends (Am. J. Phys. 87(2), 110, 2019:
seen). A mean of n runs has that over √n (derived).
"""

from __future__ import annotations

import math
from decimal import Decimal
from statistics import NormalDist
from typing import Literal

from handsfree.job.finding import Verdict
from handsfree.job.quantity import QUANTITIES
from handsfree.job.reading import Reading
from handsfree.job.record import Record
from handsfree.job.unit import Family, Unit, convert

Rule = Literal["guarded", "simple"]
Bound = Literal["at least", "at most"]

TIMED_SD_S = 0.10
COVERAGE = 1.96


class Doubt(Record):
    """The mean of a quantity's runs and its standard uncertainty, both in ``unit``."""

    mean: Decimal
    standard: float
    unit: Unit
    runs: int

    @property
    def guard_band(self) -> Decimal:
        """U at 95 %, to the hundredth."""
        return Decimal(f"{COVERAGE * self.standard:.2f}")


def doubt_of(runs: tuple[Reading, ...], unit: Unit) -> Doubt:
    """Mean and standard uncertainty of one to five runs, in ``unit``.

    A time carries the observer's 0.10 s. A gauge, scale or tape is taken to be right
    within half its resolution (rectangular, GUM 4.3.7); its calibration is not known
    here and not included.
    """
    values = [convert(run.value, run.unit, unit) for run in runs]
    mean = sum(values, Decimal(0)) / len(values)
    facts = QUANTITIES[runs[0].quantity]
    if facts.family is Family.TIME:
        single = TIMED_SD_S
    else:
        single = float(convert(facts.resolution, facts.unit, unit)) / math.sqrt(12)
    return Doubt(mean=mean, standard=single / math.sqrt(len(runs)), unit=unit, runs=len(runs))


def decide(doubt: Doubt, limit: Decimal, bound: Bound, rule: Rule) -> Verdict:
    """Pass, fail, or too close to call. ``limit`` is in the doubt's unit."""
    clearance = doubt.mean - limit if bound == "at least" else limit - doubt.mean
    if clearance < 0:
        return Verdict.FAIL
    if rule == "guarded" and clearance < doubt.guard_band:
        return Verdict.TOO_CLOSE
    return Verdict.PASS


def probability_within(doubt: Doubt, limit: Decimal, bound: Bound) -> Decimal:
    """The probability that the true value keeps the limit, to the hundredth (0 to 1)."""
    clearance = doubt.mean - limit if bound == "at least" else limit - doubt.mean
    return Decimal(f"{NormalDist().cdf(float(clearance) / doubt.standard):.2f}")
