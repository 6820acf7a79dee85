"""What to change next, in words short enough to be spoken."""

from __future__ import annotations

from decimal import Decimal

from handsfree.checks.doubt import Bound, Doubt
from handsfree.checks.spoken import figure, unit_name
from handsfree.job.quantity import Quantity
from handsfree.job.unit import Unit

_MOVEMENTS = (
    Quantity.OPENING_TIME,
    Quantity.TOTAL_OPENING_TIME,
    Quantity.CLOSING_TIME,
    Quantity.LATCHING_TIME,
)


def change(quantity: Quantity, doubt: Doubt, limit: Decimal, bound: Bound) -> str:
    """How far to move a failing value so that it clears the limit and its guard band.

    For a movement the share is that of its speed: a time longer by a factor is a speed
    lower by the same factor.
    """
    target = limit + doubt.guard_band if bound == "at least" else limit - doubt.guard_band
    missing = f"{figure(abs(target - doubt.mean))} {unit_name(doubt.unit)}"
    if quantity in _MOVEMENTS and doubt.unit is Unit.SECOND:
        percent = round(100 * (1 - float(doubt.mean / target)))
        return f"it must move about {percent} percent slower and take {missing} longer"
    if bound == "at least":
        return f"raise it by {missing}"
    return f"lower it by {missing}"


def measure_again(doubt: Doubt) -> str:
    """What helps when a value lies within its guard band of the limit."""
    band = f"{figure(doubt.guard_band)} {unit_name(doubt.unit)}"
    return f"that is within the doubt of {band}, so measure again or move away from the limit"
