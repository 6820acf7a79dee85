"""Findings on the kinetic energy of a moving leaf, one for each of its three travel times.

The limit applies in both directions. Opening turns the leaf to backcheck or 80 degrees, closing
from 90 to 10 degrees, which is also 80 degrees. The rest of the opening, from backcheck to fully
open, is judged where both opening times and the angle are known.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from decimal import Decimal
from typing import NamedTuple

from handsfree.checks.advice import measure_again, slow_to, target
from handsfree.checks.energy import (
    CLOSING_ANGLE_DEG,
    allowed_peak_to_mean,
    energy_j,
    least_time_s,
)
from handsfree.checks.leaf_weight import inertia_of, weight_of
from handsfree.checks.limit_set import LimitSet
from handsfree.checks.measured_energy import fastest_of, measured_energy_finding
from handsfree.checks.measurement_uncertainty import Rule, Uncertainty, decide, probability_within
from handsfree.checks.number_format import figure, measured
from handsfree.checks.opening_end import SQUARE_DEG, Stretch, opening_end_deg, stretch_of
from handsfree.checks.pass_caveats import looser, note_of, noted
from handsfree.checks.scope import out_of_scope
from handsfree.job.finding import Finding, Verdict
from handsfree.job.job import Job, leaf_side
from handsfree.job.opening import Leaf
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Reading
from handsfree.job.unit import Unit, convert, in_base_unit
from handsfree.language.wording import Wording, wording

BEYOND = "energy beyond backcheck"
RULES = {
    Quantity.OPENING_TIME: "opening energy",
    Quantity.TOTAL_OPENING_TIME: BEYOND,
    Quantity.CLOSING_TIME: "closing energy",
}
CONTRADICTION = "total opening time against opening time"
"""Rule broken by a total opening time that is no longer than the opening time within it."""
_WEIGHTS = 16


class _Turn(NamedTuple):
    """A movement to judge: its time, the angle turned, and its name."""

    time: Uncertainty
    angle_deg: float
    words: str
    before_s: Decimal = Decimal(0)


def energy_findings(
    job: Job,
    limits: LimitSet,
    last: Reading,
    doubt: Uncertainty,
    rule: Rule,
    *,
    of_time: Sequence[Finding] = (),
) -> tuple[Finding, ...]:
    """Findings on the energy at mean speed, decided on the time that the energy limit allows.

    ``doubt`` is the uncertainty of the runs in s, ``last`` the last of them. Energy grows with
    1/T², so the uncertainty of the time decides. Empty for a quantity that is not a travel time, a
    leaf of unknown size, or a door that the limits do not cover. ``of_time`` holds the findings on
    the time itself: if they already require as much, the energy gets no advice of its own, because
    two numbers for one setting confuse. If a sensor measured the largest speed of a movement, its
    largest energy is judged instead.
    """
    side = leaf_side(last.subject)
    leaf = job.opening.leaf(side) if side else None
    if last.quantity not in RULES or out_of_scope(job.opening) is not None or leaf is None:
        return ()
    w = wording(job.sheet.language)
    stretch = None
    if last.quantity is Quantity.TOTAL_OPENING_TIME:
        stretch = stretch_of(job, last.subject)
        if stretch is None:
            return ()
        if stretch.time.mean <= 0:
            return (_contradiction(w, limits, last, stretch),)
    inertia = inertia_of(leaf)
    if inertia is None:
        return ()
    largest = measured_energy_finding(job, limits, leaf, last, doubt, rule, of_time)
    if largest is not None:
        return (largest,)
    if stretch is not None and fastest_of(job.runs(Quantity.OPENING_TIME, last.subject)):
        return ()  # the largest energy of the opening covers all of it
    turn = _turn(w, leaf, last.quantity, doubt, stretch)
    return (_finding(w, job, limits, last, leaf, turn, inertia, rule, of_time),)


def energy_time_s(leaf: Leaf, limits: LimitSet, quantity: Quantity) -> Decimal | None:
    """The time at which the leaf carries exactly the allowed energy (s, to 0.1 ms).

    None for any quantity but the opening and closing times, and for a leaf of unknown size.
    """
    inertia = inertia_of(leaf)
    if quantity not in (Quantity.OPENING_TIME, Quantity.CLOSING_TIME) or inertia is None:
        return None
    angle = CLOSING_ANGLE_DEG if quantity is Quantity.CLOSING_TIME else opening_end_deg(leaf)
    return _least_s(limits, inertia, angle)


def _finding(
    w: Wording,
    job: Job,
    limits: LimitSet,
    last: Reading,
    leaf: Leaf,
    turn: _Turn,
    inertia: float,
    rule: Rule,
    of_time: Sequence[Finding],
) -> Finding:
    limit, weight = limits.limit.energy, weight_of(leaf)
    assert weight is not None and leaf.width is not None  # inertia_of() needs both
    unit = Unit.JOULE if job.sheet.units == "metric" else limit.unit
    most = convert(limit.value, limit.unit, unit)
    least = _least_s(limits, inertia, turn.angle_deg)
    verdict = decide(turn.time, least, "at least", rule)
    mean_j = energy_j(inertia, turn.angle_deg, float(turn.time.mean))
    mean = Decimal(figure(convert(Decimal(repr(mean_j)), Unit.JOULE, unit), most))
    if verdict is not Verdict.PASS and _asked(of_time, verdict) >= turn.before_s + least:
        advice = ""
    else:
        ratio = allowed_peak_to_mean(in_base_unit(limit.value, limit.unit), mean_j)
        advice = _advice(w, last, verdict, turn, least, ratio)
    return Finding(
        rule=RULES[last.quantity],
        subject=last.subject,
        quantity=last.quantity,
        verdict=verdict,
        reading=mean,
        limit=Decimal(figure(most)),
        bound=limit.bound,
        unit=unit,
        guard_band=_band(turn, rule, inertia, unit),
        probability=_probability(turn.time, least, _light_share(leaf)),
        source=f"{limits.name}; {limit.cite()}",
        why=w.say(
            "energy_too_much" if verdict is Verdict.FAIL else "energy_carried",
            the_subject=w.the(last.subject),
            way=turn.words,
            energy=figure(mean, most),
            limit=measured(w, most, unit),
            width=measured(w, leaf.width.value, leaf.width.unit),
            weight=weight.words(w),
        ),
        advice=advice,
        note=noted(note_of(w, turn.time, least, "at least", verdict), looser(w, limit.looser_than)),
        runs=turn.time.runs,
        reading_id=last.id,
        binding=limit.binding,
    )


def _asked(of_time: Sequence[Finding], verdict: Verdict) -> Decimal:
    """The time that the findings on the time require, if they are at least as severe as
    ``verdict``.
    """
    no_milder = {Verdict.FAIL, verdict}
    limits = [one.limit for one in of_time if one.advice and one.verdict in no_milder]
    return max((limit for limit in limits if limit is not None), default=Decimal(0))


def _turn(
    w: Wording, leaf: Leaf, quantity: Quantity, doubt: Uncertainty, stretch: Stretch | None
) -> _Turn:
    if stretch is not None:
        words = w.say(
            "way_beyond",
            degrees=figure(Decimal(repr(opening_end_deg(leaf)))),
            open=figure(leaf.open_angle_deg or SQUARE_DEG),
        )
        return _Turn(stretch.time, stretch.angle_deg, words, stretch.part.mean)
    if quantity is Quantity.CLOSING_TIME:
        return _Turn(doubt, CLOSING_ANGLE_DEG, w.say("way_closing"))
    return _Turn(doubt, opening_end_deg(leaf), w.say("way_opening"))


def _contradiction(w: Wording, limits: LimitSet, last: Reading, stretch: Stretch) -> Finding:
    """The finding that the whole is no longer than its part: at least one was misread."""
    return Finding(
        rule=CONTRADICTION,
        subject=last.subject,
        quantity=last.quantity,
        verdict=Verdict.NOT_JUDGED,
        reading=stretch.whole.mean,
        unit=Unit.SECOND,
        source=limits.name,
        why=w.say(
            "total_below_part",
            of_subject=w.of(last.subject),
            total=measured(w, stretch.whole.mean, Unit.SECOND, stretch.part.mean),
            part=measured(w, stretch.part.mean, Unit.SECOND, stretch.whole.mean),
        ),
        advice=w.say("time_both_again"),
        reading_id=last.id,
    )


def _least_s(limits: LimitSet, inertia: float, angle_deg: float) -> Decimal:
    limit_j = in_base_unit(limits.limit.energy.value, limits.limit.energy.unit)
    return Decimal(f"{least_time_s(inertia, angle_deg, limit_j):.4f}")


def _light_share(leaf: Leaf) -> float:
    """The ratio of the lightest possible weight to the weight used; 1 for a known weight."""
    weight = weight_of(leaf)
    if weight is None or weight.lightest is None:
        return 1.0
    return weight.lightest.in_base_unit() / weight.used.in_base_unit()


def _probability(doubt: Uncertainty, least: Decimal, light_share: float) -> Decimal:
    """The probability of keeping the energy limit, averaged over an estimated weight.

    An estimated weight lies anywhere between its light and its heavy side (rectangular, GUM 4.3.7),
    and the time that the limit allows is proportional to its root. Integrated by Simpson's rule.
    """
    if light_share >= 1:
        return probability_within(doubt, least, "at least")
    step = (1 - light_share) / _WEIGHTS
    total = 0.0
    for nth in range(_WEIGHTS + 1):
        share = light_share + nth * step
        allowed = Decimal(f"{float(least) * math.sqrt(share):.4f}")
        weight = 1 if nth in (0, _WEIGHTS) else 4 if nth % 2 else 2
        total += weight * float(probability_within(doubt, allowed, "at least", places=6))
    return Decimal(f"{total / (3 * _WEIGHTS):.2f}")


def _band(turn: _Turn, rule: Rule, inertia: float, unit: Unit) -> Decimal:
    """The additional energy if the time is shorter by its guard band."""
    shorter_s = float(turn.time.mean - turn.time.band("at least", rule))
    if shorter_s <= 0:
        return Decimal(0)
    mean_j = energy_j(inertia, turn.angle_deg, float(turn.time.mean))
    more_j = energy_j(inertia, turn.angle_deg, shorter_s) - mean_j
    return convert(Decimal(repr(more_j)), Unit.JOULE, unit).quantize(Decimal("0.01"))


def _advice(
    w: Wording, last: Reading, verdict: Verdict, turn: _Turn, least: Decimal, ratio: float
) -> str:
    if verdict is Verdict.FAIL:
        aim = turn.before_s + target(turn.time, least, "at least")
        return slow_to(w, last.quantity, aim, last.subject, varies=turn.time.varies)
    if verdict is Verdict.TOO_CLOSE:
        return measure_again(
            w, last.quantity, turn.time, least, "at least", last.subject, before=turn.before_s
        )
    # The ratio is rounded down, to the safe side.
    rounded = math.floor(ratio * 100) / 100
    return w.say("peak_speed", ratio=f"{rounded:.2f}")
