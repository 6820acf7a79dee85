"""The energy that a moving leaf carries, as a finding on its opening and its closing time.

The limit holds for the moving leaf whichever way it goes. Opening turns it to backcheck
or 80 degrees, closing from 90 to 10 degrees, which are 80 as well.
"""

from __future__ import annotations

import math
from decimal import Decimal

from handsfree.checks.advice import change, measure_again
from handsfree.checks.doubt import Doubt, Rule, decide, probability_within
from handsfree.checks.energy import (
    CLOSING_ANGLE_DEG,
    OPENING_ANGLE_DEG,
    allowed_peak_to_mean,
    energy_j,
    least_time_s,
)
from handsfree.checks.leaf_weight import inertia_of, weight_of
from handsfree.checks.limit_set import LimitSet
from handsfree.checks.spoken import figure, measured
from handsfree.job.finding import Finding, Verdict
from handsfree.job.job import Job, leaf_side
from handsfree.job.opening import Activation, Leaf
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Reading, Subject
from handsfree.job.unit import Unit, convert, in_base_unit
from handsfree.wording import Wording, wording

RULES = {Quantity.OPENING_TIME: "opening energy", Quantity.CLOSING_TIME: "closing energy"}


def energy_findings(
    job: Job,
    limits: LimitSet,
    last: Reading,
    doubt: Doubt,
    rule: Rule,
    *,
    asked_s: Decimal = Decimal(0),
) -> tuple[Finding, ...]:
    """The energy at the mean speed of a time, decided on the time that the limit allows.

    ``doubt`` is that of the time's runs in s, ``last`` the last of them. Energy goes with
    1/T², so the doubt of the time is what decides. None for a quantity that is no travel
    time, a leaf of unknown size, and a door that is no low-energy door. Where the time
    already fails and must come to ``asked_s``, which the energy asks for as well, there is
    no advice of its own: two figures for one setting only confuse.
    """
    quantity, subject = last.quantity, last.subject
    side = leaf_side(subject)
    leaf = job.opening.leaf(side) if side else None
    knowing = job.opening.activation is not Activation.MOTION_SENSOR
    if quantity not in RULES or not knowing or leaf is None:
        return ()
    weight = weight_of(leaf)
    inertia = inertia_of(leaf)
    least = energy_time_s(leaf, limits, quantity)
    if weight is None or inertia is None or least is None:
        return ()
    w, limit = wording(job.sheet.language), limits.limit.energy
    limit_j = in_base_unit(limit.value, limit.unit)
    angle_deg = _angle_deg(leaf, quantity)
    verdict = decide(doubt, least, "at least", rule)
    mean_j = energy_j(inertia, angle_deg, float(doubt.mean))
    ratio = allowed_peak_to_mean(limit_j, mean_j)
    mean = convert(Decimal(repr(mean_j)), Unit.JOULE, limit.unit)
    mean = Decimal(figure(mean, limit.value))
    return (
        Finding(
            rule=RULES[quantity],
            subject=subject,
            quantity=quantity,
            verdict=verdict,
            reading=mean,
            limit=limit.value,
            bound=limit.bound,
            unit=limit.unit,
            guard_band=_band(doubt, rule, inertia, angle_deg, limit.unit),
            probability=probability_within(doubt, least, "at least"),
            source=f"{limits.name}; {limit.cite()}",
            why=w.say(
                "energy_at_mean_speed",
                the_subject=w.the(subject),
                weight=weight.words(w),
                energy=figure(mean, limit.value),
                limit=measured(w, limit.value, limit.unit),
            ),
            advice=""
            if verdict is not Verdict.PASS and asked_s >= least
            else _advice(w, quantity, subject, verdict, doubt, least, ratio),
            reading_id=last.id,
            binding=limit.binding,
        ),
    )


def energy_time_s(leaf: Leaf, limits: LimitSet, quantity: Quantity) -> Decimal | None:
    """The time at which the leaf carries just the energy allowed, in s to the 0.1 ms.

    None for a quantity that is no travel time and for a leaf of unknown size.
    """
    inertia = inertia_of(leaf)
    if quantity not in RULES or inertia is None:
        return None
    limit_j = in_base_unit(limits.limit.energy.value, limits.limit.energy.unit)
    return Decimal(f"{least_time_s(inertia, _angle_deg(leaf, quantity), limit_j):.4f}")


def _angle_deg(leaf: Leaf, quantity: Quantity) -> float:
    """How far the leaf turns in the time that was read."""
    if quantity is Quantity.CLOSING_TIME:
        return CLOSING_ANGLE_DEG
    known = leaf.backcheck_angle_deg
    return min(float(known), OPENING_ANGLE_DEG) if known is not None else OPENING_ANGLE_DEG


def _band(doubt: Doubt, rule: Rule, inertia: float, angle_deg: float, unit: Unit) -> Decimal:
    """How much more energy there is when the time is short by its guard band."""
    shorter_s = float(doubt.mean - doubt.band("at least", rule))
    if shorter_s <= 0:
        return Decimal(0)
    mean_j = energy_j(inertia, angle_deg, float(doubt.mean))
    more_j = energy_j(inertia, angle_deg, shorter_s) - mean_j
    return convert(Decimal(repr(more_j)), Unit.JOULE, unit).quantize(Decimal("0.01"))


def _advice(
    w: Wording,
    quantity: Quantity,
    subject: Subject,
    verdict: Verdict,
    doubt: Doubt,
    least: Decimal,
    ratio: float,
) -> str:
    if verdict is Verdict.FAIL:
        return change(w, quantity, doubt, least, "at least", subject)
    if verdict is Verdict.TOO_CLOSE:
        return measure_again(w, doubt, least, "at least")
    # The ratio is rounded down, to the safe side.
    rounded = math.floor(ratio * 100) / 100
    return w.say("peak_speed", ratio=f"{rounded:.2f}")
