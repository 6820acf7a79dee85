"""What to change next, in words short enough to be spoken."""

from __future__ import annotations

import math
from decimal import ROUND_CEILING, Decimal

from handsfree.checks.doubt import Bound, Doubt, runs_to_decide
from handsfree.checks.spoken import measured
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Subject
from handsfree.job.unit import Unit
from handsfree.wording import Wording

_MOVEMENTS = (
    Quantity.OPENING_TIME,
    Quantity.TOTAL_OPENING_TIME,
    Quantity.CLOSING_TIME,
    Quantity.LATCHING_TIME,
)
_NORMAL_95 = 1.96


def target(doubt: Doubt, limit: Decimal, bound: Bound) -> Decimal:
    """The value to aim at: the limit, the guard band to be cleared, and a reading's own scatter.

    A leaf that is moved to the edge of the band is too close to call every second time, for
    what is read next scatters round it: 39 readings of 40 at this aim clear the band. After the
    adjusting there is one reading again, so more runs before it ask for no less. The band is
    that of a known scatter. What few runs add to it says how little is known of the door, not
    how far it has to be moved.
    """
    reading = math.hypot(doubt.known_sd, doubt.fixed)
    band, scatter = (
        Decimal(f"{_NORMAL_95 * sd:.2f}") for sd in (max(doubt.standard, reading), reading)
    )
    beyond = band + scatter + doubt.band(bound, "simple")
    return limit + beyond if bound == "at least" else limit - beyond


def change(
    w: Wording, quantity: Quantity, doubt: Doubt, limit: Decimal, bound: Bound, subject: Subject
) -> str:
    """How far to move a failing value so that the next reading clears the limit and its band.

    For a movement of the ``subject`` the share is that of its speed: a time longer by a
    factor is a speed lower by the same factor.
    """
    aim = target(doubt, limit, bound)
    # Rounded up: whoever does just what was said must not come out short.
    short = abs(aim - doubt.mean).quantize(Decimal("0.01"), ROUND_CEILING)
    missing = measured(w, short, doubt.unit)
    if quantity in _MOVEMENTS and doubt.unit is Unit.SECOND:
        share = (doubt.mean - doubt.excess) / (aim - doubt.excess)
        percent = abs(round(100 * (1 - float(share))))
        words = w.say(
            "slower" if bound == "at least" else "faster",
            the_subject=w.the(subject),
            move=w.say(f"move_{quantity}"),
            percent=percent,
            missing=missing,
        )
    else:
        words = w.say("raise_by" if bound == "at least" else "lower_by", missing=missing)
    return w.say("but_first", advice=words) if doubt.varies else words


def measure_again(w: Wording, doubt: Doubt, limit: Decimal, bound: Bound) -> str:
    """What helps when a value lies within its guard band of the limit."""
    words = w.say("within_doubt", band=measured(w, doubt.band(bound), doubt.unit))
    if doubt.excess:
        return w.say("doubt_own_button", doubt=words)
    if doubt.varies:
        return w.say("doubt_runs_differ", doubt=words)
    more = runs_to_decide(doubt, limit, bound)
    if not more:
        aim = measured(w, target(doubt, limit, bound), doubt.unit)
        return w.say("doubt_no_run_helps", doubt=words, aim=aim)
    return w.say("doubt_more_runs", count=more, doubt=words, number=w.digits(str(more)))
