"""The least travel time of a leaf: by table, formula or physics, whichever is longest."""

from __future__ import annotations

from decimal import ROUND_CEILING, Decimal
from typing import Literal

from handsfree.checks.energy import OPENING_ANGLE_DEG, least_time_s, uniform_inertia_kg_m2
from handsfree.checks.limit_set import Limit, LimitSet
from handsfree.job.record import Record
from handsfree.job.unit import Measure, Unit, convert, in_base_unit

# A value that misses a step only by rounding error (1e-9 s) counts as on it.
_EXACT_S = Decimal("1e-9")
_SQUARE = Decimal(90)


class LeastTime(Record):
    """The least travel time of a leaf (s), and the values of which it is the largest.

    ``table_s`` is None off the table, ``formula_s`` if the set has no formula; ``table_s``,
    ``formula_s`` and ``physics_s`` are not rounded. ``ruled_by`` names the one that gave
    ``seconds``. ``proven_s`` is set if the table was not seen in its source: a reading below it
    fails, and one between it and ``seconds`` is not judged.
    """

    seconds: Decimal
    ruled_by: Literal["table", "formula", "physics", "floor"]
    table_s: Decimal | None
    formula_s: Decimal | None
    physics_s: Decimal
    cite: str
    proven_s: Decimal | None = None
    looser_than: str = ""


def least_travel_time(
    width: Measure, weight: Measure, limits: LimitSet, floor: Limit | None
) -> LeastTime:
    """The least time over 80 degrees for a leaf of this width and weight.

    A size in the table uses its cell. Any other size uses the formula, or physics where the set has
    no formula, rounded up. A wider or heavier leaf never needs less time than a smaller one: the
    longest of the cells of smaller sizes, the formula and the ``floor`` counts.
    """
    width_in = convert(width.value, width.unit, Unit.INCH)
    weight_lb = convert(weight.value, weight.unit, Unit.POUND)
    inertia = uniform_inertia_kg_m2(weight.in_base_unit(), width.in_base_unit())
    limit_j = in_base_unit(limits.limit.energy.value, limits.limit.energy.unit)
    physics_s = Decimal(repr(round(least_time_s(inertia, OPENING_ANGLE_DEG, limit_j), 6)))
    table = limits.table_one
    cell = table.cell(width_in, weight_lb) if table else None
    formula_s: Decimal | None = None
    asked: list[tuple[Decimal, str, str]] = []
    if limits.formula is not None:
        formula_s = width_in * weight_lb.sqrt() / limits.formula.constant_in_lb
        rounded = _round_up(formula_s, limits.formula.round_up_to_s)
        asked.append((rounded, "formula", limits.formula.cite()))
    elif limits.physics is not None:
        rounded = _round_up(physics_s, limits.physics.round_up_to_s)
        asked.append((rounded, "physics", limits.physics.cite()))
    if table is not None and (up_to := table.up_to(width_in, weight_lb)) is not None:
        # max() keeps the first of equals: a cell applies to its own size only.
        asked.insert(0 if cell is not None else 1, (up_to, "table", table.cite()))
    # The source of a time names every value that it was compared with.
    looser = [
        each.looser_than
        for each in (table, limits.formula, limits.physics, floor)
        if each is not None
    ]
    least_s = convert(floor.value, floor.unit, Unit.SECOND) if floor is not None else Decimal(0)
    proven_s: Decimal | None = None
    if limits.physics is not None and limits.physics.proven_step_s is not None:
        proven_s = max(_round_up(physics_s, limits.physics.proven_step_s), least_s)
    if floor is not None:
        asked.append((least_s, "floor", floor.cite()))
    seconds, by, cite = max(asked, key=lambda one: one[0])
    return LeastTime.model_validate(
        {
            "seconds": seconds,
            "ruled_by": by,
            "table_s": cell,
            "formula_s": formula_s,
            "physics_s": physics_s,
            "cite": cite,
            "looser_than": next((each for each in looser if each), ""),
            "proven_s": proven_s if proven_s is not None and proven_s < seconds else None,
        }
    )


def extra_to_fully_open_s(
    backcheck_deg: Decimal, limits: LimitSet, fully_open_deg: Decimal = _SQUARE
) -> Decimal | None:
    """Time from closed to fully open beyond the travel time (s); None without a row for it.

    Between two rows the row of the lower angle applies, above the first row the first one. An
    angle below the last row has none. Past 90 degrees the leaf continues at the backcheck
    rate of the row: from its angle to 90 degrees in its extra time.
    """
    if limits.table_two is None:
        return None
    rows = zip(limits.table_two.backcheck_deg, limits.table_two.extra_s, strict=True)
    for angle, extra in rows:
        if angle <= backcheck_deg:
            beyond = max(fully_open_deg - _SQUARE, Decimal(0))
            return extra + beyond * extra / (_SQUARE - angle)
    return None


def _round_up(value_s: Decimal, step_s: Decimal) -> Decimal:
    steps = ((value_s - _EXACT_S) / step_s).to_integral_value(ROUND_CEILING)
    return steps * step_s
