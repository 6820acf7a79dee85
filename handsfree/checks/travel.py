"""The least time for a leaf's travel: by table, by formula or by physics, whichever rules."""

from __future__ import annotations

from decimal import ROUND_CEILING, Decimal
from typing import Literal

from handsfree.checks.energy import OPENING_ANGLE_DEG, least_time_s, uniform_inertia_kg_m2
from handsfree.checks.limits import Limit, LimitSet
from handsfree.job.record import Record
from handsfree.job.unit import Measure, Unit, convert, in_base_unit

# A size that lands on a step up to rounding error is on it: 1e-9 s is no doubt of anybody's.
_EXACT_S = Decimal("1e-9")


class LeastTime(Record):
    """The least travel time of a leaf in s, with everything that it was compared of.

    ``table_s`` is None off the table, ``formula_s`` where the set has no formula.
    ``ruled_by`` says which one gave ``seconds``.
    """

    seconds: Decimal
    ruled_by: Literal["table", "formula", "physics", "floor"]
    table_s: Decimal | None
    formula_s: Decimal | None
    physics_s: Decimal
    cite: str


def least_travel_time(width: Measure, weight: Measure, limits: LimitSet, floor: Limit) -> LeastTime:
    """The least time over 80 degrees for a leaf of this width and weight.

    A size of the table takes its cell. Any other size takes the formula, or where the
    set has none the physics, rounded up; never less than the ``floor``.
    """
    width_in = convert(width.value, width.unit, Unit.INCH)
    weight_lb = convert(weight.value, weight.unit, Unit.POUND)
    cell = limits.table_one.cell(width_in, weight_lb) if limits.table_one else None
    formula_s = physics_s = None
    inertia = uniform_inertia_kg_m2(weight.in_base_unit(), width.in_base_unit())
    limit_j = in_base_unit(limits.limit.energy.value, limits.limit.energy.unit)
    physics_s = Decimal(repr(round(least_time_s(inertia, OPENING_ANGLE_DEG, limit_j), 6)))
    if limits.formula is not None:
        formula_s = width_in * weight_lb.sqrt() / limits.formula.constant_in_lb
    if cell is not None and limits.table_one is not None:
        seconds, by, cite = cell, "table", limits.table_one.cite()
    elif limits.formula is not None and formula_s is not None:
        seconds = _round_up(formula_s, limits.formula.round_up_to_s)
        by, cite = "formula", limits.formula.cite()
    else:
        assert limits.physics is not None  # a set has one of the two
        seconds = _round_up(physics_s, limits.physics.round_up_to_s)
        by, cite = "physics", limits.physics.cite()
    if seconds < floor.value:
        seconds, by, cite = floor.value, "floor", floor.cite()
    return LeastTime.model_validate(
        {
            "seconds": seconds,
            "ruled_by": by,
            "table_s": cell,
            "formula_s": formula_s,
            "physics_s": physics_s,
            "cite": cite,
        }
    )


def extra_to_fully_open_s(backcheck_deg: Decimal, limits: LimitSet) -> Decimal | None:
    """What closed to 90 degrees takes beyond the travel time; None where no row says so.

    Between two rows the lower angle's row rules; above the first row the first one. An
    angle below the last row has no row.
    """
    if limits.table_two is None:
        return None
    rows = zip(limits.table_two.backcheck_deg, limits.table_two.extra_s, strict=True)
    reached = [extra for angle, extra in rows if angle <= backcheck_deg]
    return reached[0] if reached else None


def _round_up(value_s: Decimal, step_s: Decimal) -> Decimal:
    steps = ((value_s - _EXACT_S) / step_s).to_integral_value(ROUND_CEILING)
    return steps * step_s
