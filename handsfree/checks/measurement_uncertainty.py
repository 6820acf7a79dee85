"""The measurement uncertainty of a reading, and the decision rule that allows for it.

The decision rule is that of ILAC-G8:09/2019 with a guard band (4.2.2), or simple acceptance
(4.2.1): a value passes when it clears the limit by its band, or at all. A value beyond the
limit fails either way. ILAC's guarded rule is binary; 'too close to call' between the two
makes it a non-binary one (4.2.3).

The uncertainty of a reading depends on how it was taken:

- **A time by hand or by ear** between two seen or heard events has a standard deviation
  of 0.10 s: one anticipated event is met with SD 0.07 s, and an interval has two such ends
  (Am. J. Phys. 87(2), 110, 2019: seen). A mean of n runs has that over √n (derived).
- **A time started by one's own press of a button** is late at its stop only: SD 0.07 s,
  and about 0.11 s too long (same source; derived). The reading stands as it was read,
  because nobody should fail a door by a figure that nobody read and because the delay of
  one person is not the average. Its band is wider by 0.11 s instead, on the side where
  too long is unsafe (GUM F.2.4.5), under either rule and however many the runs. The
  probability takes the best estimate, the mean without the 0.11 s.
- **A gauge, scale or tape** is right within half its resolution and within its accuracy
  where that is known (both rectangular, GUM 4.3.7 and F.2.2.1). Neither shrinks with more
  runs. How far its calibration is off is not known here; one that is overdue or not
  noted is a caveat (calibration.py). What it reads holds at any point, so each run is
  held against the limit and the worst one counts.

The door itself varies too. One run cannot show how much, so 0.20 s is assumed (our choice, a
Type B evaluation, GUM 4.3). From three runs on the larger of the known and the observed
standard deviation counts, so that runs which agree by luck never narrow the band; where the
observed one rules it rests on n - 1 degrees of freedom, with Student's t (GUM G.3.2). Two runs
say almost nothing about scatter: the worse one is used as if it were alone. No band is wider
than that one.

A person who measures again until the door passes looks up to five times, and each look may
pass a bad door by luck. So the band of a time uses Pocock's constant for five looks instead of
1.96 (Biometrika 64, 191, 1977: 2.413 for 5 % on both sides, memory and derived by a test), and
Student's t at the same nominal level (Jennison and Turnbull, Group Sequential Methods, 2000,
4.4: memory).
"""

from __future__ import annotations

import math
from decimal import Decimal
from statistics import NormalDist
from typing import Literal

from handsfree.checks.students_t import t_cdf, t_quantile
from handsfree.job.finding import Verdict
from handsfree.job.quantity import QUANTITIES
from handsfree.job.reading import Reading, Taken
from handsfree.job.record import Record
from handsfree.job.unit import Family, Measure, Unit, convert

Rule = Literal["guarded", "simple"]
Bound = Literal["at least", "at most"]

TIMED_SD_S = 0.10
ONE_END_SD_S = 0.07
LATE_S = Decimal("0.11")
DOOR_SD_S = 0.20
"""Standard deviation assumed for the door itself while too few runs show it (s)."""
MOST_RUNS = 5
POCOCK = 2.413
"""Pocock's constant: five looks at this many standard uncertainties pass 2.5 % in all."""

_ONE_SIDED = 0.975
"""One-sided share of U at 95 %: a fortieth lies beyond it on each side."""
_ONE_LOOK = NormalDist().cdf(POCOCK)
_TELLING = 3
"""Fewest runs whose scatter shows how much the door itself varies."""

# Chi square, 95 %, for 1 to 4 degrees of freedom: the variance that chance alone can reach.
_CHANCE = (3.841, 5.991 / 2, 7.815 / 3, 9.488 / 4)


class Uncertainty(Record):
    """The runs of a quantity and their uncertainty, all in ``unit``.

    ``mean``, ``lowest`` and ``highest`` are those of the ``runs``. ``known_sd`` is the standard
    deviation of one run for the way it was taken, ``spread`` the sample standard deviation (two
    runs or more), and ``run_sd`` the larger of the two. ``door_sd`` is the standard deviation
    assumed for the door while the runs do not show it. ``fixed`` is the standard uncertainty that
    more runs do not reduce, ``excess`` how much the readings are known to be too high. ``each`` is
    True if every run has to keep the limit, as with a gauge, instead of their mean.
    """

    mean: Decimal
    unit: Unit
    runs: int
    lowest: Decimal
    highest: Decimal
    spread: float | None
    known_sd: float
    run_sd: float
    fixed: float
    door_sd: float = 0.0
    excess: Decimal = Decimal(0)
    each: bool = False

    def value(self, bound: Bound) -> Decimal:
        """The value compared with a limit: the mean, or the worst run if each must keep it."""
        return self._worst(bound) if self.each else self.mean

    @property
    def standard(self) -> float:
        """The standard uncertainty of the mean, without the door's scatter that one run cannot
        show.
        """
        return math.hypot(self.run_sd / math.sqrt(self.runs), self.fixed)

    @property
    def freedom(self) -> float:
        """Degrees of freedom: n - 1 if the observed scatter is used, otherwise infinite."""
        return self.runs - 1 if self.run_sd > self.known_sd else math.inf

    @property
    def guard_band(self) -> Decimal:
        """U at 95 % of the mean alone, rounded to a hundredth (GUM 6.2 and G.3.2)."""
        return Decimal(f"{t_quantile(_ONE_SIDED, self.freedom) * self.standard:.2f}")

    def band(self, bound: Bound, rule: Rule = "guarded") -> Decimal:
        """The margin by which the value must clear a limit; it includes the excess under every
        rule.
        """
        known = self.excess if bound == "at least" else Decimal(0)
        return self._guarded(bound) + known if rule == "guarded" else known

    @property
    def one_run(self) -> float:
        """The band of a single run."""
        if self.each:
            return float(self.guard_band)
        return POCOCK * math.hypot(self.known_sd, self.door_sd, self.fixed)

    @property
    def varies(self) -> bool:
        """True if the runs differ by more than timing explains, so that the door itself varies.

        A chi square test at 95 %: one constant door in twenty is said to vary. A time counts as
        varying only if a person's timing would show it, because a sensor sees every door vary.
        """
        if self.spread is None or not self.known_sd:
            return False
        known_sd = max(self.known_sd, ONE_END_SD_S) if self.door_sd else self.known_sd
        return (self.spread / known_sd) ** 2 > _CHANCE[min(self.runs, MOST_RUNS) - 2]

    def _worst(self, bound: Bound) -> Decimal:
        return self.lowest if bound == "at least" else self.highest

    def _guarded(self, bound: Bound) -> Decimal:
        band = self.one_run
        if not self.each and self.runs > 1:
            band += float(abs(self.mean - self._worst(bound)))
        if not self.each and self.runs >= _TELLING:
            known = self.freedom == math.inf
            factor = POCOCK if known else t_quantile(_ONE_LOOK, self.freedom)
            band = min(band, factor * self.standard)
        return Decimal(f"{band:.2f}")


def uncertainty_of(
    runs: tuple[Reading, ...], unit: Unit, accuracy: Measure | None = None
) -> Uncertainty:
    """Mean and doubt of one or more runs of one quantity, in ``unit``.

    ``accuracy`` is the half-width that the maker of the gauge states for its readings, in a unit of
    the quantity's family. Raises ValueError without any run.
    """
    if not runs:
        raise ValueError("the mean needs at least one run")
    values = [convert(run.value, run.unit, unit) for run in runs]
    facts = QUANTITIES[runs[0].quantity]
    timed = facts.family is Family.TIME
    of_run = [_observer(run, facts.family) for run in runs]
    # The excess of each run says nothing about how the door varies.
    spread = sample_sd([float(v - late) for v, (_, late) in zip(values, of_run, strict=True)])
    resolution = float(convert(facts.resolution, facts.unit, unit)) / math.sqrt(12)
    known_sd = math.sqrt(sum(sd**2 for sd, _ in of_run) / len(runs))
    seen_sd = math.sqrt(max(0.0, (spread or 0.0) ** 2 - resolution**2)) if timed else 0.0
    half_width = float(convert(accuracy.value, accuracy.unit, unit)) if accuracy else 0.0
    return Uncertainty(
        mean=sum(values, Decimal(0)) / len(values),
        unit=unit,
        runs=len(runs),
        lowest=min(values),
        highest=max(values),
        spread=spread,
        known_sd=known_sd,
        run_sd=max(known_sd, seen_sd),
        fixed=math.hypot(resolution, half_width / math.sqrt(3)),
        door_sd=DOOR_SD_S if timed else 0.0,
        excess=sum((late for _, late in of_run), Decimal(0)) / len(runs),
        each=not timed,
    )


def difference(
    whole: Uncertainty, part: Uncertainty, spread: float | None, lowest: Decimal, highest: Decimal
) -> Uncertainty:
    """The uncertainty of one time minus another that is part of it (s), run by run.

    ``spread``, ``lowest`` and ``highest`` are those of the differences. The uncertainties of both
    observers are combined (GUM 5.1.2), and the remaining stretch scatters like any other time. Both
    times have the same number of runs.
    """
    known_sd = math.hypot(whole.known_sd, part.known_sd)
    return Uncertainty(
        mean=whole.mean - part.mean,
        unit=whole.unit,
        runs=whole.runs,
        lowest=lowest,
        highest=highest,
        spread=spread,
        known_sd=known_sd,
        run_sd=max(known_sd, spread or 0.0),
        fixed=math.hypot(whole.fixed, part.fixed),
        door_sd=whole.door_sd,
    )


def sample_sd(values: list[float]) -> float | None:
    """The sample standard deviation; None for a single value."""
    if len(values) < 2:
        return None
    mean = math.fsum(values) / len(values)
    return math.sqrt(math.fsum((value - mean) ** 2 for value in values) / (len(values) - 1))


def _observer(run: Reading, family: Family) -> tuple[float, Decimal]:
    """The uncertainty of one run by the way it was taken: standard deviation and excess, in s.

    For an angle they are in degrees; only a sensor on the leaf states one. A spoken or typed time
    was read from a stopwatch. A time from a gauge, such as a light barrier, involves no person, and
    a sensor on the leaf states its own uncertainty. For a time by ear, the uncertainty of the marks
    is combined with the person's (GUM 5.1.2: they are independent).
    """
    if family is not Family.TIME or run.taken is Taken.GAUGE:
        return float(run.angle_sd_deg or 0), Decimal(0)
    if run.taken is Taken.SENSOR:
        return float(run.marks_s or 0), Decimal(0)
    if run.taken is Taken.OWN_BUTTON:
        return ONE_END_SD_S, LATE_S
    return math.hypot(TIMED_SD_S, float(run.marks_s or 0)), Decimal(0)


def decide(doubt: Uncertainty, limit: Decimal, bound: Bound, rule: Rule) -> Verdict:
    """Pass, fail, or too close to call. ``limit`` is in the doubt's unit."""
    clearance = _clearance(doubt, limit, bound)
    if clearance < 0:
        return Verdict.FAIL
    if clearance < doubt.band(bound, rule):
        return Verdict.TOO_CLOSE
    return Verdict.PASS


def probability_within(
    doubt: Uncertainty, limit: Decimal, bound: Bound, *, places: int = 2
) -> Decimal:
    """The probability (0 to 1) that the true value keeps the limit, rounded to ``places``.

    The conformance probability of JCGM 106:2012, 7, with nothing known beforehand: the normal
    distribution about the best estimate, or Student's t if few runs give the spread. It reflects
    how the reading was taken, not the door's own scatter, which one run cannot show.
    """
    too_high = doubt.excess if bound == "at least" else -doubt.excess
    clearance = float(_clearance(doubt, limit, bound) - too_high)
    return Decimal(f"{t_cdf(clearance / doubt.standard, doubt.freedom):.{places}f}")


def runs_to_decide(doubt: Uncertainty, limit: Decimal, bound: Bound) -> int | None:
    """The number of additional runs that should decide, if they are like those so far.

    0 if it is decided already; None if even five runs in all would not decide: the value is too
    close to its limit and has to be adjusted away from it.
    """
    if decide(doubt, limit, bound, "guarded") is not Verdict.TOO_CLOSE:
        return 0
    for runs in range(doubt.runs + 1, MOST_RUNS + 1):
        expected = doubt.model_copy(update={"runs": runs})
        if decide(expected, limit, bound, "guarded") is Verdict.PASS:
            return runs - doubt.runs
    return None


def _clearance(doubt: Uncertainty, limit: Decimal, bound: Bound) -> Decimal:
    value = doubt.value(bound)
    return value - limit if bound == "at least" else limit - value
