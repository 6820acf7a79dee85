"""What to change next, in words short enough to be spoken."""

from __future__ import annotations

from decimal import ROUND_CEILING, Decimal

from handsfree.checks.doubt import Bound, Doubt, runs_to_decide
from handsfree.checks.spoken import figure, unit_name
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Subject
from handsfree.job.unit import Unit

_MOVES = {
    Quantity.OPENING_TIME: "open to backcheck",
    Quantity.TOTAL_OPENING_TIME: "open fully",
    Quantity.CLOSING_TIME: "close",
    Quantity.LATCHING_TIME: "latch",
}
_FIND_OUT = "find out why its runs differ by more than timing explains"
_NORMAL_95 = 1.96
_COUNTED = ("none", "one", "two", "three", "four")


def target(doubt: Doubt, limit: Decimal, bound: Bound) -> Decimal:
    """The value to aim at: the limit and the guard band that a reading has to clear.

    The band is that of a known scatter. What few runs add to it says how little is known
    of the door, not how far it has to be moved.
    """
    band = Decimal(f"{_NORMAL_95 * doubt.standard:.2f}") + doubt.band(bound, "simple")
    return limit + band if bound == "at least" else limit - band


def change(
    quantity: Quantity,
    doubt: Doubt,
    limit: Decimal,
    bound: Bound,
    subject: Subject | None = None,
) -> str:
    """How far to move a failing value so that it clears the limit and its guard band.

    For a movement the share is that of its speed: a time longer by a factor is a speed
    lower by the same factor. ``subject`` names the leaf, its movement is the quantity's.
    """
    aim = target(doubt, limit, bound)
    # Rounded up: whoever does just what was said must not come out short.
    short = abs(aim - doubt.mean).quantize(Decimal("0.01"), ROUND_CEILING)
    missing = f"{figure(short)} {unit_name(doubt.unit)}"
    if quantity in _MOVES and doubt.unit is Unit.SECOND:
        share = (doubt.mean - doubt.excess) / (aim - doubt.excess)
        percent = abs(round(100 * (1 - float(share))))
        who = f"the {subject} must {_MOVES[quantity]}" if subject else "it must move"
        how = ("slower", "longer") if bound == "at least" else ("faster", "less")
        words = f"{who} about {percent} percent {how[0]} and take {missing} {how[1]}"
    elif bound == "at least":
        words = f"raise it by {missing}"
    else:
        words = f"lower it by {missing}"
    return f"{words}, but first {_FIND_OUT}" if doubt.varies else words


def measure_again(doubt: Doubt, limit: Decimal, bound: Bound) -> str:
    """What helps when a value lies within its guard band of the limit."""
    band = f"{figure(doubt.band(bound))} {unit_name(doubt.unit)}"
    words = f"that is within the doubt of {band}"
    if doubt.excess:
        return f"{words}, so time it between two events that you see, not from your own button"
    if doubt.varies:
        return f"{words}, so {_FIND_OUT}"
    more = runs_to_decide(doubt, limit, bound)
    if not more:
        aim = figure(target(doubt, limit, bound))
        return (
            f"{words}, and no further run would help, so move it to {aim} {unit_name(doubt.unit)}"
        )
    runs = "run that agrees" if more == 1 else "runs that agree"
    return f"{words}, and {_COUNTED[more]} more {runs} would decide it"
