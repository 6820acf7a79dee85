"""Advice on what to adjust next: short enough to be spoken, in values that can be set by hand."""

from __future__ import annotations

import math
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal

from handsfree.checks.measurement_uncertainty import Bound, Uncertainty, runs_to_decide
from handsfree.checks.number_format import measured
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Subject
from handsfree.job.unit import Unit
from handsfree.language.wording import Wording

MOVEMENTS = (
    Quantity.OPENING_TIME,
    Quantity.TOTAL_OPENING_TIME,
    Quantity.CLOSING_TIME,
    Quantity.LATCHING_TIME,
)
_NORMAL_95 = 1.96
# The finest step that a hand can set and an eye can read, by unit; otherwise a hundredth.
_SET_BY_HAND = {
    Unit.SECOND: Decimal("0.5"),
    Unit.POUND_FORCE: Decimal("0.5"),
    Unit.NEWTON: Decimal(1),
    Unit.INCH: Decimal("0.25"),
    Unit.FOOT: Decimal("0.5"),
    Unit.MILLIMETRE: Decimal(5),
    Unit.DEGREE: Decimal(1),
}


def target(doubt: Uncertainty, limit: Decimal, bound: Bound) -> Decimal:
    """The value to aim at: the limit plus the guard band of one run and the scatter of a reading.

    A leaf adjusted to the edge of the band would be too close to call every second time, because
    the next reading scatters around it. At this aim 39 of 40 readings clear the band. After an
    adjustment there is only one reading, so earlier runs do not reduce the margin. What too few
    runs add to the band is ignorance of the door; adjusting further would not reduce it.
    """
    scatter = _NORMAL_95 * math.hypot(doubt.known_sd, doubt.fixed)
    band, scattered = Decimal(f"{doubt.one_run:.2f}"), Decimal(f"{scatter:.2f}")
    beyond = band + scattered + doubt.band(bound, "simple")
    return limit + beyond if bound == "at least" else limit - beyond


def by_hand(value: Decimal, unit: Unit, bound: Bound) -> Decimal:
    """The value rounded to what a hand can set, on the safe side of a limit."""
    step = _SET_BY_HAND.get(unit, Decimal("0.01"))
    away = ROUND_CEILING if bound == "at least" else ROUND_FLOOR
    return (value / step).to_integral_value(away) * step


def change(
    w: Wording,
    quantity: Quantity,
    doubt: Uncertainty,
    limit: Decimal,
    bound: Bound,
    subject: Subject,
) -> str:
    """Says how to adjust a failing value so that the next reading clears the limit and its band."""
    words = _move(w, quantity, target(doubt, limit, bound), doubt.unit, bound, subject)
    return w.say("but_first", advice=words) if doubt.varies else words


def _move(
    w: Wording, quantity: Quantity, aim: Decimal, unit: Unit, bound: Bound, subject: Subject
) -> str:
    if quantity in MOVEMENTS and unit is Unit.SECOND:
        return slow_to(w, quantity, aim, subject, bound=bound)
    told = measured(w, by_hand(aim, unit, bound), unit)
    return w.say("raise_to" if bound == "at least" else "lower_to", aim=told)


def slow_to(
    w: Wording,
    quantity: Quantity,
    aim_s: Decimal,
    subject: Subject,
    *,
    bound: Bound = "at least",
    varies: bool = False,
) -> str:
    """Advice in words: 'slow the opening of the left leaf to about 4.5 seconds'."""
    words = w.say(
        "slow_to" if bound == "at least" else "speed_up_to",
        move=w.say(f"move_{quantity}", of_subject=w.of(subject)),
        aim=measured(w, by_hand(aim_s, Unit.SECOND, bound), Unit.SECOND),
    )
    return w.say("but_first", advice=words) if varies else words


def measure_again(
    w: Wording,
    quantity: Quantity,
    doubt: Uncertainty,
    limit: Decimal,
    bound: Bound,
    subject: Subject,
    *,
    before: Decimal = Decimal(0),
) -> str:
    """Says what to do when a value lies within its guard band of the limit.

    ``before`` is added where the value is only part of the time that is set. A value that already
    reaches the aim needs no adjustment: only more runs or a steadier door help.
    """
    words = w.say("within_doubt", band=measured(w, doubt.band(bound), doubt.unit))
    if doubt.excess:
        return w.say("doubt_own_button", doubt=words)
    if doubt.varies:
        return w.say("doubt_runs_differ", doubt=words)
    more = runs_to_decide(doubt, limit, bound)
    if more:
        return w.say("doubt_more_runs", count=more, doubt=words, number=w.digits(str(more)))
    aim = target(doubt, limit, bound)
    farther = aim - doubt.value(bound)
    if farther <= 0 if bound == "at least" else farther >= 0:
        return w.say("doubt_runs_differ", doubt=words)
    change_to = _move(w, quantity, before + aim, doubt.unit, bound, subject)
    return w.say("doubt_no_run_helps", doubt=words, change=change_to)
