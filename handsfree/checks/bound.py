"""The bound that a quantity of a subject is held against, for this job and limit set."""

from __future__ import annotations

from decimal import Decimal

from handsfree.checks.doubt import Bound
from handsfree.checks.limits import Limit, LimitSet
from handsfree.checks.spoken import figure
from handsfree.checks.travel import LeastTime, extra_to_fully_open_s, least_travel_time
from handsfree.job.job import Job, leaf_side
from handsfree.job.opening import Activation, Leaf, WeightSource
from handsfree.job.quantity import QUANTITIES, Quantity
from handsfree.job.reading import Subject
from handsfree.job.record import Record
from handsfree.job.unit import Measure, Unit, convert

HEAVY_SIDE = Decimal("1.2")
"""An estimated weight may be 20 % too low; the heavy side is used (facts: seen, weak)."""

FULL_ENERGY = (
    "a motion sensor opens this door, so it belongs to the standard for full energy doors, "
    "which is not judged here"
)
"""A156.19 1.1 and 2.1: only a knowing act makes a low-energy door (seen)."""


class Held(Record):
    """A limit as it applies: ``value`` in ``unit``; ``because`` completes 'at least 3.5'."""

    rule: str
    value: Decimal
    unit: Unit
    bound: Bound
    cite: str
    because: str = ""


class Missing(Record):
    """A limit that cannot be told yet; ``why`` says which reading is needed first."""

    rule: str
    why: str


_PLAIN = {
    Quantity.LATCHING_TIME: "latching",
    Quantity.HOLD_OPEN_TIME: "hold_open",
    Quantity.BACKCHECK_ANGLE: "backcheck_angle",
    Quantity.OPENING_FORCE: "stall_force",
    Quantity.CLOSING_FORCE: "stall_force",
    Quantity.RELEASE_FORCE: "release_force",
    Quantity.SET_IN_MOTION_FORCE: "set_in_motion_force",
    Quantity.OPEN_FULLY_FORCE: "open_fully_force",
}


def bounds(
    job: Job, limits: LimitSet, quantity: Quantity, subject: Subject
) -> tuple[Held | Missing, ...]:
    """Every limit for a quantity; none when the set has none for it."""
    if job.opening.activation is Activation.MOTION_SENSOR:
        return (Missing(rule=QUANTITIES[quantity].spoken, why=FULL_ENERGY),)
    side = leaf_side(subject)
    leaf = job.opening.leaf(side) if side else None
    if quantity in (Quantity.OPENING_TIME, Quantity.TOTAL_OPENING_TIME, Quantity.CLOSING_TIME):
        return (_travel(leaf, limits, quantity, subject),)
    name = _PLAIN.get(quantity)
    limit: Limit | None = getattr(limits.limit, name) if name else None
    if limit is None:
        return ()
    held = _held(QUANTITIES[quantity].spoken, limit)
    if quantity is Quantity.HOLD_OPEN_TIME and (far := _far_plate(job, limits)) is not None:
        return (held, far)
    return (held,)


def travel_of(leaf: Leaf, limits: LimitSet, floor: Limit) -> LeastTime | None:
    """The least travel time of a leaf, or None while its width or weight is not known."""
    if leaf.width is None or leaf.weight is None:
        return None
    return least_travel_time(leaf.width, weight_used(leaf), limits, floor)


def weight_used(leaf: Leaf) -> Measure:
    """The weight to reckon with: an estimate is taken at its heavy side.

    ValueError while the weight is not known.
    """
    if leaf.weight is None:
        raise ValueError("the weight of this leaf is not known")
    if leaf.weight_source is WeightSource.ESTIMATE:
        heavy = leaf.weight.value * HEAVY_SIDE
        return leaf.weight.model_copy(update={"value": heavy})
    return leaf.weight


def _travel(
    leaf: Leaf | None, limits: LimitSet, quantity: Quantity, subject: Subject
) -> Held | Missing:
    rule = QUANTITIES[quantity].spoken
    closing = quantity is Quantity.CLOSING_TIME
    floor = limits.limit.closing_floor if closing else limits.limit.opening_floor
    travel = travel_of(leaf, limits, floor) if leaf is not None else None
    if leaf is None or travel is None:
        return Missing(rule=rule, why=f"the width and the weight of the {subject} come first")
    heavy = leaf.weight_source is WeightSource.ESTIMATE
    because = "for its width and weight" + (", taken heavy as an estimate" if heavy else "")
    if quantity is not Quantity.TOTAL_OPENING_TIME:
        return Held(
            rule=rule,
            value=travel.seconds,
            unit=Unit.SECOND,
            bound="at least",
            cite=travel.cite,
            because=because,
        )
    if leaf.backcheck_angle_deg is None:
        return Missing(rule=rule, why=f"the backcheck angle of the {subject} comes first")
    extra_s = extra_to_fully_open_s(leaf.backcheck_angle_deg, limits)
    if limits.table_two is None:
        return Missing(rule=rule, why="this limit set has none")
    if extra_s is None:
        lowest = figure(limits.table_two.backcheck_deg[-1])
        return Missing(
            rule=rule,
            why=f"it is stated for backcheck at {lowest} degrees or more, so set that first",
        )
    return Held(
        rule=rule,
        value=travel.seconds + extra_s,
        unit=Unit.SECOND,
        bound="at least",
        cite=limits.table_two.cite(),
        because=f"with backcheck at {leaf.backcheck_angle_deg} degrees",
    )


def _held(rule: str, limit: Limit, because: str = "") -> Held:
    return Held(
        rule=rule,
        value=limit.value,
        unit=limit.unit,
        bound=limit.bound,
        cite=limit.cite(),
        because=because,
    )


def _far_plate(job: Job, limits: LimitSet) -> Held | None:
    """More hold-open time for a plate far from the door: a recommendation."""
    free, per_foot = limits.limit.plate_free_distance, limits.limit.hold_open_per_foot
    distances = [
        convert(r.value, r.unit, Unit.FOOT)
        for r in job.readings
        if r.quantity is Quantity.PLATE_DISTANCE
    ]
    if free is None or per_foot is None or not distances:
        return None
    beyond_ft = max(distances) - convert(free.value, free.unit, Unit.FOOT)
    if beyond_ft <= 0:
        return None
    return _held(
        "hold open time for a far plate",
        limits.limit.hold_open.model_copy(
            update={
                **per_foot.model_dump(exclude={"value", "bound", "unit", "recommendation"}),
                "value": limits.limit.hold_open.value + beyond_ft * per_foot.value,
                "recommendation": True,
            }
        ),
        f"recommended with a plate {max(distances).normalize():f} feet away",
    )
