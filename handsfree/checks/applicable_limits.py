"""The limits that apply to a quantity of a subject, for one job and one limit set."""

from __future__ import annotations

from decimal import Decimal

from handsfree.checks.leaf_weight import weight_of
from handsfree.checks.least_travel_time import LeastTime, extra_to_fully_open_s, least_travel_time
from handsfree.checks.limit_set import Bound, Limit, LimitSet
from handsfree.checks.number_format import figure, measured
from handsfree.checks.opening_end import SQUARE_DEG
from handsfree.checks.scope import out_of_scope
from handsfree.job.finding import Binding
from handsfree.job.job import Job, leaf_side
from handsfree.job.opening import Activation, Leaf
from handsfree.job.quantity import QUANTITIES, Quantity
from handsfree.job.reading import Subject
from handsfree.job.record import Record
from handsfree.job.unit import Unit, convert
from handsfree.language.wording import Wording, wording


class ApplicableLimit(Record):
    """An applicable limit: ``value`` in ``unit``; ``because`` completes 'at least 3.5'.

    ``proven`` is given if the value was not seen in its source: a reading between the two is not
    judged. ``looser_than`` is given if a company's own value allows more than the set that it
    extends.
    """

    rule: str
    value: Decimal
    unit: Unit
    bound: Bound
    cite: str
    because: str = ""
    binding: Binding = Binding.REQUIREMENT
    proven: Decimal | None = None
    looser_than: str = ""


class UnknownLimit(Record):
    """A limit that is not known yet; ``why`` names the reading that is needed first.

    ``least`` is the limit that applies whatever that reading turns out to be.
    """

    rule: str
    why: str
    least: ApplicableLimit | None = None


_RULE_OF = {
    "plate_distance_least": "preferred plate distance",
    "plate_free_distance": "preferred plate distance",
}
"""Rules that are not named after their quantity."""


def applicable_limits(
    job: Job, limits: LimitSet, quantity: Quantity, subject: Subject
) -> tuple[ApplicableLimit | UnknownLimit, ...]:
    """Every limit for a quantity; empty if the set has none or does not apply to the door."""
    if out_of_scope(job.opening) is not None:
        return ()
    return _limits_of(wording(job.sheet.language), job, limits, quantity, subject)


def _limits_of(
    w: Wording, job: Job, limits: LimitSet, quantity: Quantity, subject: Subject
) -> tuple[ApplicableLimit | UnknownLimit, ...]:
    side = leaf_side(subject)
    leaf = job.opening.leaf(side) if side else None
    if quantity in (Quantity.OPENING_TIME, Quantity.CLOSING_TIME):
        return (_travel(w, leaf, limits, quantity, subject),)
    if quantity is Quantity.TOTAL_OPENING_TIME:
        return _total(w, leaf, limits, subject)
    if quantity is Quantity.HOLD_OPEN_TIME:
        return _hold_open(w, job, limits)
    facts = QUANTITIES[quantity]
    named = ((_RULE_OF.get(key, facts.spoken), getattr(limits.limit, key)) for key in facts.limits)
    return tuple(_held(rule, limit) for rule, limit in named if limit is not None)


def travel_of(leaf: Leaf, limits: LimitSet, floor: Limit | None) -> LeastTime | None:
    """The least travel time of a leaf, or None while its width or weight is not known."""
    weight = weight_of(leaf)
    if leaf.width is None or weight is None:
        return None
    return least_travel_time(leaf.width, weight.used, limits, floor)


def _travel(
    w: Wording, leaf: Leaf | None, limits: LimitSet, quantity: Quantity, subject: Subject
) -> ApplicableLimit | UnknownLimit:
    rule = QUANTITIES[quantity].spoken
    closing = quantity is Quantity.CLOSING_TIME
    floor = limits.limit.closing_floor if closing else limits.limit.opening_floor
    weight = weight_of(leaf) if leaf is not None else None
    travel = travel_of(leaf, limits, floor) if leaf is not None else None
    if leaf is None or travel is None or weight is None:
        any_leaf = w.say("because_any_leaf")
        least = _held(rule, floor, any_leaf) if floor is not None else None
        return UnknownLimit(rule=rule, why=_first(w, leaf, subject), least=least)
    return ApplicableLimit(
        rule=rule,
        value=travel.seconds,
        unit=Unit.SECOND,
        bound="at least",
        cite=travel.cite,
        because=_of_size(w, leaf),
        proven=travel.proven_s,
        looser_than=travel.looser_than,
    )


def _of_size(w: Wording, leaf: Leaf) -> str:
    """'for 36 inches and 150 pounds from the label'."""
    weight = weight_of(leaf)
    assert leaf.width is not None and weight is not None  # a travel time needs both
    width = measured(w, leaf.width.value, leaf.width.unit)
    return w.say("because_of_size", width=width, weight=weight.words(w))


def _first(w: Wording, leaf: Leaf | None, subject: Subject) -> str:
    """The reading needed before the travel time can be judged."""
    if leaf is not None and leaf.width is not None:
        name = "weight_first"
    elif leaf is not None and weight_of(leaf) is not None:
        name = "width_first"
    else:
        name = "size_first"
    return w.say(name, of_subject=w.of(subject))


def _total(
    w: Wording, leaf: Leaf | None, limits: LimitSet, subject: Subject
) -> tuple[ApplicableLimit | UnknownLimit, ...]:
    """The limits from closed to fully open: the travel time plus what Table II adds to it."""
    table = limits.table_two
    if table is None:
        return ()
    rule = QUANTITIES[Quantity.TOTAL_OPENING_TIME].spoken
    floor = limits.limit.opening_floor
    travel = travel_of(leaf, limits, floor) if leaf is not None else None
    least_s = travel.seconds if travel else floor.value if floor else Decimal(0)
    least = ApplicableLimit(
        rule=rule,
        value=least_s + min(table.extra_s),
        unit=Unit.SECOND,
        bound="at least",
        cite=table.cite(),
        looser_than=table.looser_than,
        because=w.say("because_any_backcheck" if travel else "because_any_leaf"),
    )
    if leaf is None or travel is None:
        return (UnknownLimit(rule=rule, why=_first(w, leaf, subject), least=least),)
    backcheck = leaf.backcheck_angle_deg
    if backcheck is None:
        why = w.say("backcheck_first", of_subject=w.of(subject))
        return (UnknownLimit(rule=rule, why=why, least=least),)
    open_deg = leaf.open_angle_deg or SQUARE_DEG
    extra_s = extra_to_fully_open_s(backcheck, limits, open_deg)
    if extra_s is None:
        why = w.say("backcheck_too_early", degrees=figure(table.backcheck_deg[-1]))
        return (UnknownLimit(rule=rule, why=why, least=least),)
    because = w.say(
        "because_backcheck_and_open" if open_deg > SQUARE_DEG else "because_backcheck",
        degrees=figure(backcheck),
        open=figure(open_deg),
        size=_of_size(w, leaf),
    )
    return (least.model_copy(update={"value": travel.seconds + extra_s, "because": because}),)


def _hold_open(
    w: Wording, job: Job, limits: LimitSet
) -> tuple[ApplicableLimit | UnknownLimit, ...]:
    rule = QUANTITIES[Quantity.HOLD_OPEN_TIME].spoken
    if job.opening.held_open_by_sensor:
        return (UnknownLimit(rule=rule, why=w.say("held_open")),)
    by_hand = limits.limit.hold_open_manual_start
    if job.opening.activation is Activation.MANUAL_START and by_hand is not None:
        return (_held(rule, by_hand, w.say("because_by_hand")),)
    far = _far_plate(w, job, limits)
    held = _held(rule, limits.limit.hold_open)
    return (held, far) if far is not None else (held,)


def _held(rule: str, limit: Limit, because: str = "") -> ApplicableLimit:
    return ApplicableLimit(
        rule=rule,
        value=limit.value,
        unit=limit.unit,
        bound=limit.bound,
        cite=limit.cite(),
        looser_than=limit.looser_than,
        because=because,
        binding=limit.binding,
    )


def _far_plate(w: Wording, job: Job, limits: LimitSet) -> ApplicableLimit | None:
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
    return ApplicableLimit(
        rule="hold open time for a far plate",
        value=hold_open.value + beyond_ft * per_foot.value,
        unit=hold_open.unit,
        bound=hold_open.bound,
        cite=per_foot.cite(),
        because=w.say("because_far_plate", feet=figure(farthest_ft)),
        binding=per_foot.binding,
    )
