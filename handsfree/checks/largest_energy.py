"""Judges the largest kinetic energy of a leaf whose speed a sensor measured throughout.

The energy at mean speed, which follows from a time, holds only if the leaf moves evenly
(``leaf_energy.py``). The largest energy needs no such assumption: it is compared with the limit
directly, with its own uncertainty (ILAC-G8:09/2019 4.2.2: a guard band of U at 95 %).
"""

from __future__ import annotations

from decimal import Decimal

from handsfree.checks.limit_set import LimitSet
from handsfree.checks.measurement_uncertainty import Rule
from handsfree.job.finding import Verdict
from handsfree.job.opening import WeightSource
from handsfree.job.record import Record
from handsfree.job.unit import Unit, convert, in_base_unit

COVERAGE = 1.96
"""Coverage factor of U at 95 % (GUM G.1.3: a normal distribution)."""
WEIGHT_SHARES = {WeightSource.SCALE: 0.01, WeightSource.LABEL: 0.03, WeightSource.ESTIMATE: 0.115}
"""Relative standard uncertainty of a leaf's weight (our choice, GUM 4.3): a scale is right within
2 %, a label within 5 % (rectangular), an estimate within a fifth (rectangular: 0.2 / sqrt 3)."""
UNSAID_SHARE = 0.03
"""Relative standard uncertainty of a weight of unknown source: treated as from a label."""
WIDTH_SHARE = 0.001
"""Relative standard uncertainty of a width by tape: a sixteenth of an inch in three feet."""


class LargestEnergy(Record):
    """A largest energy and its limit. ¶ ``energy``, ``doubt`` (U at 95 %) and ``limit`` are in
    ``unit``; ``source`` names the limit set and the status of its value.
    """

    verdict: Verdict
    energy: Decimal
    doubt: Decimal
    limit: Decimal
    unit: Unit
    source: str


def judge_largest_energy(
    energy_j: float, uncertainty_j: float, limits: LimitSet, *, metric: bool, rule: Rule = "guarded"
) -> LargestEnergy:
    """Pass, fail or too close to call; ``uncertainty_j`` is a standard uncertainty (J)."""
    sourced = limits.limit.energy
    unit = Unit.JOULE if metric else sourced.unit
    limit_j = in_base_unit(sourced.value, sourced.unit)
    doubt_j = COVERAGE * uncertainty_j
    if energy_j > limit_j:
        verdict = Verdict.FAIL
    elif rule == "guarded" and energy_j + doubt_j > limit_j:
        verdict = Verdict.TOO_CLOSE
    else:
        verdict = Verdict.PASS
    return LargestEnergy(
        verdict=verdict,
        energy=_in(energy_j, unit),
        doubt=_in(doubt_j, unit),
        limit=convert(sourced.value, sourced.unit, unit).quantize(Decimal("0.01")),
        unit=unit,
        source=f"{limits.name}; {sourced.cite()}",
    )


def inertia_share(source: WeightSource | None) -> float:
    """Relative standard uncertainty of the inertia m·D²/3, by the source of the weight.

    The width counts twice (GUM 5.1.6).
    """
    weight = WEIGHT_SHARES[source] if source is not None else UNSAID_SHARE
    return float((weight**2 + (2 * WIDTH_SHARE) ** 2) ** 0.5)


def _in(joules: float, unit: Unit) -> Decimal:
    return convert(Decimal(repr(joules)), Unit.JOULE, unit).quantize(Decimal("0.01"))
