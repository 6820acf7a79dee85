"""Findings on the largest energy of a leaf whose largest speed a sensor measured.

Such a finding replaces the one on the energy at mean speed, with its caveat that the leaf has to
move evenly. The energy uses the inertia as known now: a leaf that is weighed later is judged again.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from decimal import Decimal
from statistics import NormalDist

from handsfree.checks.advice import slow_to
from handsfree.checks.largest_energy import (
    LargestEnergy,
    inertia_share,
    judge_largest_energy,
)
from handsfree.checks.leaf_weight import inertia_of, weight_of
from handsfree.checks.limit_set import LimitSet
from handsfree.checks.measurement_uncertainty import Rule, Uncertainty
from handsfree.checks.number_format import figure, measured
from handsfree.checks.pass_caveats import looser
from handsfree.job.finding import Finding, Verdict
from handsfree.job.job import Job
from handsfree.job.opening import Leaf, WeightSource
from handsfree.job.quantity import Quantity
from handsfree.job.reading import LargestSpeed, Reading
from handsfree.job.unit import in_base_unit
from handsfree.language.wording import Wording, wording

MEASURED_RULES = {
    Quantity.OPENING_TIME: "largest opening energy",
    Quantity.CLOSING_TIME: "largest closing energy",
}
WAYS = {Quantity.OPENING_TIME: "way_opening", Quantity.CLOSING_TIME: "way_closing"}
"""Names of the movements in the wording, by the time that measures each."""


def energy_at(leaf: Leaf, speed: LargestSpeed) -> tuple[float, float] | None:
    """Energy and standard uncertainty (J) of a leaf at a speed; None for a leaf of unknown size."""
    inertia, weight = inertia_of(leaf), weight_of(leaf)
    if inertia is None or weight is None:
        return None
    energy_j = inertia * math.radians(float(speed.deg_s)) ** 2 / 2
    share = math.hypot(2 * float(speed.share), inertia_share(weight.source))
    return energy_j, share * energy_j


def fastest_of(runs: Sequence[Reading]) -> Reading | None:
    """The run with the largest speed; None if no sensor measured one."""
    return max(
        (run for run in runs if run.largest_speed is not None),
        key=lambda run: run.largest_speed.deg_s if run.largest_speed else Decimal(0),
        default=None,
    )


def measured_energy_finding(
    job: Job,
    limits: LimitSet,
    leaf: Leaf,
    last: Reading,
    doubt: Uncertainty,
    rule: Rule,
    of_time: Sequence[Finding] = (),
) -> Finding | None:
    """The finding on the fastest run of the last attempt; None if no run has a largest speed.

    ``of_time`` holds the findings on the time: if they require as much, this one gives no advice of
    its own.
    """
    fastest = fastest_of(job.runs(last.quantity, last.subject))
    if last.quantity not in MEASURED_RULES or fastest is None or fastest.largest_speed is None:
        return None
    at = energy_at(leaf, fastest.largest_speed)
    if at is None:
        return None
    energy_j, uncertainty_j = at
    judged = judge_largest_energy(
        energy_j, uncertainty_j, limits, metric=job.sheet.units == "metric", rule=rule
    )
    w, limit = wording(job.sheet.language), limits.limit.energy
    limit_j = in_base_unit(limit.value, limit.unit)
    kept = NormalDist(energy_j, uncertainty_j).cdf(limit_j)
    weight = weight_of(leaf)
    assert weight is not None and leaf.width is not None  # energy_at() needs both
    return Finding(
        rule=MEASURED_RULES[last.quantity],
        subject=last.subject,
        quantity=last.quantity,
        verdict=judged.verdict,
        reading=judged.energy,
        limit=Decimal(figure(judged.limit)),
        bound=limit.bound,
        unit=judged.unit,
        guard_band=judged.doubt if rule == "guarded" else Decimal(0),
        probability=Decimal(f"{kept:.2f}"),
        source=judged.source,
        why=w.say(
            "largest_energy_too_much"
            if judged.verdict is Verdict.FAIL
            else "largest_energy_carried",
            the_subject=w.the(last.subject),
            way=w.say(WAYS[last.quantity]),
            energy=figure(judged.energy, judged.limit),
            limit=measured(w, judged.limit, judged.unit),
            width=measured(w, leaf.width.value, leaf.width.unit),
            weight=weight.words(w),
        ),
        advice=_advice(w, last, judged, doubt, weight.source, of_time),
        note=looser(w, limit.looser_than) if judged.verdict is Verdict.PASS else "",
        runs=doubt.runs,
        reading_id=last.id,
        binding=limit.binding,
    )


def _advice(
    w: Wording,
    last: Reading,
    judged: LargestEnergy,
    doubt: Uncertainty,
    source: WeightSource | None,
    of_time: Sequence[Finding],
) -> str:
    """What to set: the same movement, slower, clears the limit by the doubt (energy as 1/T²)."""
    if judged.verdict is Verdict.PASS:
        return ""
    ratio = float((judged.energy + judged.doubt) / judged.limit)
    aim_s = Decimal(repr(float(doubt.mean) * math.sqrt(ratio)))
    asked = [found.limit for found in of_time if found.advice and found.limit is not None]
    if any(limit >= aim_s for limit in asked):
        return ""
    slower = slow_to(w, last.quantity, aim_s, last.subject)
    if judged.verdict is Verdict.FAIL:
        return w.say("soften_ramp", advice=slower)
    within = w.say("within_doubt", band=measured(w, judged.doubt, judged.unit))
    unweighed = source is not WeightSource.SCALE
    return w.say("weigh_or_slow" if unweighed else "within_or_slow", doubt=within, advice=slower)
