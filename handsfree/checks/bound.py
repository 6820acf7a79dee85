"""The bound that a quantity of a subject is held against, for this job and limit set."""

from __future__ import annotations

from decimal import Decimal

from handsfree.checks.leaf_weight import weight_of
from handsfree.checks.limit_set import Bound, Limit, LimitSet
from handsfree.checks.spoken import figure
from handsfree.checks.travel import LeastTime, extra_to_fully_open_s, least_travel_time
from handsfree.job.finding import Binding
from handsfree.job.job import Job, leaf_side
from handsfree.job.opening import Activation, Leaf
from handsfree.job.quantity import QUANTITIES, Quantity
from handsfree.job.reading import Subject
from handsfree.job.record import Record
from handsfree.job.unit import Unit, convert

FULL_ENERGY = (
    "a motion sensor opens this door, so it belongs to the standard for full energy doors, "
    "which is not judged here"
)
"""A156.19 1.1 and 2.1: only a knowing act makes a low-energy door (seen)."""

SQUARE_DEG = Decimal(90)


class Held(Record):
    """A limit as it applies: ``value`` in ``unit``; ``because`` completes 'at least 3.5'."""

    rule: str
    value: Decimal
    unit: Unit
    bound: Bound
    cite: str
    because: str = ""
    binding: Binding = Binding.REQUIREMENT


class Missing(Record):
    """A limit that cannot be told yet; ``why`` says which reading is needed first.

    ``least`` is what holds in any case, whatever that reading turns out to be.
    """

    rule: str
    why: str
    least: Held | None = None


# The names of the set's values by quantity; the rule is named after the quantity, or as told.
_PLAIN: dict[Quantity, tuple[tuple[str, str], ...]] = {
    Quantity.LATCHING_TIME: (("latching", ""),),
    Quantity.BACKCHECK_ANGLE: (("backcheck_angle", ""),),
    Quantity.OPENING_FORCE: (("stall_force", ""),),
    Quantity.CLOSING_FORCE: (("stall_force", ""),),
    Quantity.RELEASE_FORCE: (("release_force", ""),),
    Quantity.SET_IN_MOTION_FORCE: (("set_in_motion_force", ""),),
    Quantity.OPEN_FULLY_FORCE: (("open_fully_force", ""),),
    Quantity.SIGN_HEIGHT: (("sign_height_least", ""), ("sign_height_most", "")),
    Quantity.PLATE_HEIGHT: (("plate_height_least", ""), ("plate_height_most", "")),
    Quantity.PLATE_DISTANCE: (
        ("plate_distance", ""),
        ("plate_distance_least", "preferred plate distance"),
        ("plate_free_distance", "preferred plate distance"),
    ),
    Quantity.NEXT_SERVICE: (("inspection_interval", ""),),
}


def bounds(
    job: Job, limits: LimitSet, quantity: Quantity, subject: Subject
) -> tuple[Held | Missing, ...]:
    """Every limit for a quantity; none when the set has none for it."""
    held = _bounds(job, limits, quantity, subject)
    if held and job.opening.activation is Activation.MOTION_SENSOR:
        return (Missing(rule=QUANTITIES[quantity].spoken, why=FULL_ENERGY),)
    return held


def _bounds(
    job: Job, limits: LimitSet, quantity: Quantity, subject: Subject
) -> tuple[Held | Missing, ...]:
    side = leaf_side(subject)
    leaf = job.opening.leaf(side) if side else None
    if quantity in (Quantity.OPENING_TIME, Quantity.CLOSING_TIME):
        return (_travel(leaf, limits, quantity, subject),)
    if quantity is Quantity.TOTAL_OPENING_TIME:
        return _total(leaf, limits, subject)
    if quantity is Quantity.HOLD_OPEN_TIME:
        return _hold_open(job, limits)
    spoken = QUANTITIES[quantity].spoken
    named = ((getattr(limits.limit, key), rule) for key, rule in _PLAIN.get(quantity, ()))
    return tuple(_held(rule or spoken, limit) for limit, rule in named if limit is not None)


def travel_of(leaf: Leaf, limits: LimitSet, floor: Limit | None) -> LeastTime | None:
    """The least travel time of a leaf, or None while its width or weight is not known."""
    weight = weight_of(leaf)
    if leaf.width is None or weight is None:
        return None
    return least_travel_time(leaf.width, weight.used, limits, floor)


def _travel(
    leaf: Leaf | None, limits: LimitSet, quantity: Quantity, subject: Subject
) -> Held | Missing:
    rule = QUANTITIES[quantity].spoken
    closing = quantity is Quantity.CLOSING_TIME
    floor = limits.limit.closing_floor if closing else limits.limit.opening_floor
    weight = weight_of(leaf) if leaf is not None else None
    travel = travel_of(leaf, limits, floor) if leaf is not None else None
    if leaf is None or travel is None or weight is None:
        least = _held(rule, floor, "for any leaf") if floor is not None else None
        return Missing(rule=rule, why=_first(leaf, subject), least=least)
    return Held(
        rule=rule,
        value=travel.seconds,
        unit=Unit.SECOND,
        bound="at least",
        cite=travel.cite,
        because=f"for its width and {weight.words}",
    )


def _first(leaf: Leaf | None, subject: Subject) -> str:
    """What has to be read before the travel time can be judged."""
    known = (("width", leaf and leaf.width), ("weight", leaf and weight_of(leaf)))
    lacks = [f"the {name}" for name, value in known if value is None]
    verb = "comes" if len(lacks) == 1 else "come"
    return f"{' and '.join(lacks)} of the {subject} {verb} first"


def _total(leaf: Leaf | None, limits: LimitSet, subject: Subject) -> tuple[Held | Missing, ...]:
    """Closed to fully open: the travel time and what Table II adds to it."""
    table = limits.table_two
    if table is None:
        return ()
    rule = QUANTITIES[Quantity.TOTAL_OPENING_TIME].spoken
    floor = limits.limit.opening_floor
    travel = travel_of(leaf, limits, floor) if leaf is not None else None
    least_s = travel.seconds if travel else floor.value if floor else Decimal(0)
    least = Held(
        rule=rule,
        value=least_s + min(table.extra_s),
        unit=Unit.SECOND,
        bound="at least",
        cite=table.cite(),
        because="whatever its backcheck angle" if travel else "for any leaf",
    )
    if leaf is None or travel is None:
        return (Missing(rule=rule, why=_first(leaf, subject), least=least),)
    backcheck = leaf.backcheck_angle_deg
    if backcheck is None:
        why = f"the backcheck angle of the {subject} comes first"
        return (Missing(rule=rule, why=why, least=least),)
    open_deg = leaf.open_angle_deg or SQUARE_DEG
    extra_s = extra_to_fully_open_s(backcheck, limits, open_deg)
    if extra_s is None:
        lowest = figure(table.backcheck_deg[-1])
        why = f"it is stated for backcheck at {lowest} degrees or more, so set that first"
        return (Missing(rule=rule, why=why, least=least),)
    beyond = f" and {figure(open_deg)} degrees fully open" if open_deg > SQUARE_DEG else ""
    because = f"with backcheck at {figure(backcheck)} degrees{beyond}"
    return (least.model_copy(update={"value": travel.seconds + extra_s, "because": because}),)


def _hold_open(job: Job, limits: LimitSet) -> tuple[Held, ...]:
    rule = QUANTITIES[Quantity.HOLD_OPEN_TIME].spoken
    by_hand = limits.limit.hold_open_manual_start
    if job.opening.activation is Activation.MANUAL_START and by_hand is not None:
        return (_held(rule, by_hand, "after a start by hand"),)
    far = _far_plate(job, limits)
    held = _held(rule, limits.limit.hold_open)
    return (held, far) if far is not None else (held,)


def _held(rule: str, limit: Limit, because: str = "") -> Held:
    return Held(
        rule=rule,
        value=limit.value,
        unit=limit.unit,
        bound=limit.bound,
        cite=limit.cite(),
        because=because,
        binding=limit.binding,
    )


def _far_plate(job: Job, limits: LimitSet) -> Held | None:
    """More hold-open time for a plate far from the door: a recommendation."""
    free, per_foot = limits.limit.plate_free_distance, limits.limit.hold_open_per_foot
    last = {r.subject: r for r in job.readings if r.quantity is Quantity.PLATE_DISTANCE}
    if free is None or per_foot is None or not last:
        return None
    farthest_ft = max(convert(r.value, r.unit, Unit.FOOT) for r in last.values())
    beyond_ft = farthest_ft - convert(free.value, free.unit, Unit.FOOT)
    if beyond_ft <= 0:
        return None
    hold_open = limits.limit.hold_open
    return Held(
        rule="hold open time for a far plate",
        value=hold_open.value + beyond_ft * per_foot.value,
        unit=hold_open.unit,
        bound=hold_open.bound,
        cite=per_foot.cite(),
        because=f"with a plate {figure(farthest_ft)} feet away",
        binding=per_foot.binding,
    )
