"""Judges readings by a limit set; findings are values, and a failing door raises nothing."""

from __future__ import annotations

import math
from decimal import Decimal

from handsfree.checks.advice import change, measure_again
from handsfree.checks.bound import Held, Missing, bounds, weight_used
from handsfree.checks.doubt import Doubt, Rule, decide, doubt_of, probability_within
from handsfree.checks.energy import (
    OPENING_ANGLE_DEG,
    allowed_peak_to_mean,
    energy_j,
    least_time_s,
    uniform_inertia_kg_m2,
)
from handsfree.checks.limits import LimitSet
from handsfree.checks.spoken import figure, unit_name
from handsfree.job.finding import Finding, Verdict
from handsfree.job.job import Job, leaf_side
from handsfree.job.opening import Activation
from handsfree.job.quantity import QUANTITIES, Quantity
from handsfree.job.reading import Reading, Subject
from handsfree.job.unit import Unit, convert, in_base_unit

ENERGY = "energy"


def judge(job: Job, limits: LimitSet, rule: Rule = "guarded") -> tuple[Finding, ...]:
    """Every finding on what the job holds now, in the order of its readings."""
    measured = dict.fromkeys((r.quantity, r.subject) for r in job.readings)
    return tuple(
        finding
        for quantity, subject in measured
        for finding in judge_quantity(job, limits, quantity, subject, rule)
    )


def judge_reading(
    job: Job, limits: LimitSet, reading: Reading, rule: Rule = "guarded"
) -> tuple[Finding, ...]:
    """The findings that a reading, just accepted into the job, bears on."""
    return judge_quantity(job, limits, reading.quantity, reading.subject, rule)


def judge_quantity(
    job: Job, limits: LimitSet, quantity: Quantity, subject: Subject, rule: Rule = "guarded"
) -> tuple[Finding, ...]:
    """The findings on the runs of the last attempt at one quantity."""
    runs = job.runs(quantity, subject)
    if not runs:
        return ()
    found = [
        _missing(held, quantity, subject, runs, limits)
        if isinstance(held, Missing)
        else _held(held, quantity, subject, runs, limits, rule)
        for held in bounds(job, limits, quantity, subject)
    ]
    if quantity is Quantity.OPENING_TIME:
        found += _energy(job, subject, runs, limits, rule)
    return tuple(found)


def _missing(
    held: Missing,
    quantity: Quantity,
    subject: Subject,
    runs: tuple[Reading, ...],
    limits: LimitSet,
) -> Finding:
    return Finding(
        rule=held.rule,
        subject=subject,
        quantity=quantity,
        verdict=Verdict.NOT_JUDGED,
        reading=runs[-1].value,
        unit=runs[-1].unit,
        source=limits.title,
        why=held.why,
        reading_id=runs[-1].id,
    )


def _held(
    held: Held,
    quantity: Quantity,
    subject: Subject,
    runs: tuple[Reading, ...],
    limits: LimitSet,
    rule: Rule,
) -> Finding:
    unit = runs[-1].unit
    doubt = doubt_of(runs, unit)
    limit = convert(held.value, held.unit, unit)
    verdict = decide(doubt, limit, held.bound, rule)
    spoken = QUANTITIES[quantity].spoken
    value = f"{figure(doubt.mean)} {unit_name(unit)}"
    needs = f"{held.bound} {figure(limit)} {unit_name(unit)}"
    why = f"the {spoken} of the {subject} is {value}, it must be {needs}"
    if held.because:
        why += f" {held.because}"
    advice = ""
    if verdict is Verdict.FAIL:
        advice = change(quantity, doubt, limit, held.bound)
    elif verdict is Verdict.TOO_CLOSE:
        advice = measure_again(doubt)
    return Finding(
        rule=held.rule,
        subject=subject,
        quantity=quantity,
        verdict=verdict,
        reading=doubt.mean,
        limit=limit,
        bound=held.bound,
        unit=unit,
        guard_band=doubt.guard_band if rule == "guarded" else Decimal(0),
        probability=probability_within(doubt, limit, held.bound),
        source=f"{limits.name}; {held.cite}",
        why=why,
        advice=advice,
        reading_id=runs[-1].id,
    )


def _energy(
    job: Job, subject: Subject, runs: tuple[Reading, ...], limits: LimitSet, rule: Rule
) -> list[Finding]:
    """The energy at mean speed, decided on the time that it allows.

    Energy goes with 1/T², so the doubt of the time is what decides.
    """
    side = leaf_side(subject)
    leaf = job.opening.leaf(side) if side else None
    knowing = job.opening.activation is not Activation.MOTION_SENSOR
    if not knowing or leaf is None or leaf.width is None or leaf.weight is None:
        return []
    inertia = uniform_inertia_kg_m2(weight_used(leaf).in_base_unit(), leaf.width.in_base_unit())
    limit = limits.limit.energy
    limit_j = in_base_unit(limit.value, limit.unit)
    known = leaf.backcheck_angle_deg
    angle_deg = min(float(known), OPENING_ANGLE_DEG) if known is not None else OPENING_ANGLE_DEG
    doubt = doubt_of(runs, Unit.SECOND)
    least = Decimal(repr(round(least_time_s(inertia, angle_deg, limit_j), 4)))
    verdict = decide(doubt, least, "at least", rule)
    mean_j = energy_j(inertia, angle_deg, float(doubt.mean))
    mean = convert(Decimal(repr(mean_j)), Unit.JOULE, limit.unit).quantize(Decimal("0.01"))
    ratio = allowed_peak_to_mean(limit_j, mean_j)
    return [
        Finding(
            rule=ENERGY,
            subject=subject,
            quantity=Quantity.OPENING_TIME,
            verdict=verdict,
            reading=mean,
            limit=limit.value,
            bound=limit.bound,
            unit=limit.unit,
            guard_band=_energy_band(doubt, inertia, angle_deg, mean_j, limit.unit)
            if rule == "guarded"
            else Decimal(0),
            probability=probability_within(doubt, least, "at least"),
            source=f"{limits.name}; {limit.cite()}",
            why=f"at its mean speed the {subject} carries {figure(mean)} of the "
            f"{figure(limit.value)} {unit_name(limit.unit)} allowed",
            advice=_energy_advice(verdict, doubt, least, ratio),
            reading_id=runs[-1].id,
        )
    ]


def _energy_band(
    doubt: Doubt, inertia: float, angle_deg: float, mean_j: float, unit: Unit
) -> Decimal:
    """How much more energy there is when the time is short by its guard band."""
    shorter_s = float(doubt.mean - doubt.guard_band)
    if shorter_s <= 0:
        return Decimal(0)
    more_j = energy_j(inertia, angle_deg, shorter_s) - mean_j
    return convert(Decimal(repr(more_j)), Unit.JOULE, unit).quantize(Decimal("0.01"))


def _energy_advice(verdict: Verdict, doubt: Doubt, least: Decimal, ratio: float) -> str:
    if verdict is Verdict.FAIL:
        return change(Quantity.OPENING_TIME, doubt, least, "at least")
    if verdict is Verdict.TOO_CLOSE:
        return measure_again(doubt)
    return _peak(ratio)


def _peak(ratio: float) -> str:
    """The ratio is rounded down, to the safe side."""
    rounded = math.floor(ratio * 100) / 100
    return f"its peak speed may be {rounded:.2f} times the mean; a hard ramp can exceed that"
