"""The job that the options of 'check' describe.

A value may name its leaf and the controller setting that it was taken at:
``left:2.9@5`` is 2.9 of the left leaf at setting 5.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import NamedTuple

from handsfree.cli.check_values import Value, construction_of, measure_of, value_of
from handsfree.errors import BadValue
from handsfree.job.job import Fact, Job, Sheet, UnitFamily, leaf_side
from handsfree.job.opening import Leaf, Opening, Side, Swing, WeightSource
from handsfree.job.quantity import OPEN_ANGLE, QUANTITIES, Quantity
from handsfree.job.reading import Reading, Subject, Taken
from handsfree.job.unit import Family

_LEAF_OF = {Side.LEFT: Subject.LEFT_LEAF, Side.RIGHT: Subject.RIGHT_LEAF}
_PLATES = {"left": Subject.LEFT_PLATE, "right": Subject.RIGHT_PLATE}
_SIDES = {"near": Subject.NEAR_SIDE, "far": Subject.FAR_SIDE}
_OF_THE_PLATE = (Quantity.PLATE_DISTANCE, Quantity.PLATE_HEIGHT)
_SIZES = (Quantity.LEAF_WIDTH, Quantity.LEAF_HEIGHT, Quantity.LEAF_WEIGHT)


class Option(NamedTuple):
    """An option that takes a reading: its name, what it measures, and how to say so."""

    name: str
    quantity: Quantity
    what: str


READINGS = (
    Option("width", Quantity.LEAF_WIDTH, "such as 36in or 914mm"),
    Option("height", Quantity.LEAF_HEIGHT, "such as 84in or 2134mm"),
    Option("weight", Quantity.LEAF_WEIGHT, "such as 150lb or 68kg"),
    Option("backcheck", Quantity.BACKCHECK_ANGLE, "where backcheck begins, in degrees"),
    Option("opening", Quantity.OPENING_TIME, "closed to backcheck or 80 degrees, in seconds"),
    Option("total-opening", Quantity.TOTAL_OPENING_TIME, "closed to fully open, in seconds"),
    Option("hold-open", Quantity.HOLD_OPEN_TIME, "fully open until it starts to close, in seconds"),
    Option("closing", Quantity.CLOSING_TIME, "90 to 10 degrees, in seconds"),
    Option("latching", Quantity.LATCHING_TIME, "10 degrees to closed, in seconds"),
    Option("opening-force", Quantity.OPENING_FORCE, "stalled while opening, such as 12lbf or 53N"),
    Option("closing-force", Quantity.CLOSING_FORCE, "stalled while closing, such as 12lbf or 53N"),
    Option("release-force", Quantity.RELEASE_FORCE, "by hand, power off, such as 12lbf or 53N"),
    Option("set-in-motion-force", Quantity.SET_IN_MOTION_FORCE, "by hand, power off"),
    Option("open-fully-force", Quantity.OPEN_FULLY_FORCE, "by hand, power off"),
    Option("plate-distance", Quantity.PLATE_DISTANCE, "to the door centre, such as 8ft or 2.4m"),
    Option("plate-height", Quantity.PLATE_HEIGHT, "such as 40in or 1016mm"),
    Option("sign-height", Quantity.SIGN_HEIGHT, "its centre, such as 50in or 1270mm"),
    Option("clear-width", Quantity.CLEAR_WIDTH, "of the way through, such as 32in or 815mm"),
    Option("next-service", Quantity.NEXT_SERVICE, "in months"),
)
_AT_A_SETTING = (Family.TIME, Family.FORCE, Family.ANGLE)


class Asked(NamedTuple):
    """The job to check, and the settings of the controller by reading id, where told.

    ``unnamed`` when there is one leaf and nobody said which.
    """

    job: Job
    settings: dict[str, Decimal]
    unnamed: bool


def asked_job(
    values: Mapping[str, tuple[str, ...]],
    *,
    sheet: Sheet | None,
    leaf: Side | None,
    open_angle: tuple[str, ...],
    weight_source: WeightSource | None,
    of_door: Mapping[str, object],
    construction: str | None,
    taken: Taken,
) -> Asked:
    """The job of a sheet, or of the options alone, with the readings of the options.

    ``values`` maps the names of :data:`READINGS` to their values as given, ``taken`` is
    how times were taken, ``leaf`` the leaf of values that name none and, without a sheet,
    the only one, ``of_door`` what else is told of the opening. Raises BadValue that names the
    option, the value and what is plausible.
    """
    given = [value_of(option.name, text) for option in READINGS for text in values[option.name]]
    angles = [value_of("open-angle", text) for text in open_angle]
    named = {Side(v.where) for v in (*given, *angles) if v.where in tuple(Side)}
    unnamed = sheet is None and leaf is None and not named
    sides = {leaf} if leaf is not None else named or {Side.LEFT}
    opening = sheet.opening if sheet is not None else _opening(sides)
    for value in angles:
        measure = measure_of(value.option, OPEN_ANGLE, value.text)
        for subject in _leaves(value, opening, leaf, all_of_them=True):
            one = _leaf(opening, subject)
            opening = opening.with_leaf(one.model_copy(update={"open_angle_deg": measure.value}))
    if construction is not None:
        made_of = construction_of(construction)
        for one in opening.leaves:
            opening = opening.with_leaf(one.model_copy(update={"construction": made_of}))
    opening = opening.model_copy(update=dict(of_door))
    sheet = sheet or Sheet(
        reference="check", site="", technician="", opening=opening, units=_units(given)
    )
    job = Job.open(sheet.model_copy(update={"opening": opening}))
    settings: dict[str, Decimal] = {}
    quantity_of = {option.name: option.quantity for option in READINGS}
    for value in given:
        quantity = quantity_of[value.option]
        for subject in _subjects(value, quantity, opening, leaf):
            if quantity in _SIZES and (twice := job.latest(quantity, subject)) is not None:
                raise BadValue(
                    f"--{value.option}: {twice.measure} and {value.text} for one leaf",
                    way_out="a leaf has one size; give the right one alone",
                )
            reading = _reading(job, value, quantity, subject, settings, taken)
            if value.setting is not None:
                settings[reading.id] = value.setting
            job = job.with_reading(reading)
    if weight_source is not None:
        for one in opening.leaves:
            subject = _LEAF_OF[one.name]
            job = job.with_fact(Fact(subject=subject, name="weight_source", value=weight_source))
    return Asked(job, settings, unnamed)


def _units(values: Iterable[Value]) -> UnitFamily:
    """Metric where the values are: the check answers in the units that it is asked in."""
    metric = any(re.search(r"(?:mm|cm|\dm|kg|N)$", value.text.replace(" ", "")) for value in values)
    return "metric" if metric else "us"


def _reading(
    job: Job,
    value: Value,
    quantity: Quantity,
    subject: Subject,
    settings: Mapping[str, Decimal],
    taken: Taken,
) -> Reading:
    """The next run of a quantity; another setting of the controller is another attempt."""
    facts = QUANTITIES[quantity]
    measure = measure_of(value.option, facts, value.text)
    if value.setting is not None and facts.family not in _AT_A_SETTING:
        raise BadValue(f"--{value.option}: a {facts.spoken} has no setting", way_out="leave out @")
    before = job.latest(quantity, subject)
    attempt, run = 1, 1
    if before is not None:
        same = settings.get(before.id) == value.setting
        attempt = before.attempt if same else before.attempt + 1
        run = before.run + 1 if same else 1
    return Reading(
        id=f"r{len(job.readings) + 1}",
        quantity=quantity,
        subject=subject,
        value=measure.value,
        unit=measure.unit,
        taken=taken if facts.family is Family.TIME else Taken.GAUGE,
        attempt=attempt,
        run=run,
    )


def _subjects(
    value: Value, quantity: Quantity, opening: Opening, leaf: Side | None
) -> tuple[Subject, ...]:
    if quantity in (Quantity.NEXT_SERVICE, Quantity.CLEAR_WIDTH):
        return (_place(value, {}),)
    if quantity in _OF_THE_PLATE:
        return (_place(value, _PLATES),)
    if quantity is Quantity.SIGN_HEIGHT:
        return (_place(value, _SIDES),)
    return _leaves(value, opening, leaf, all_of_them=quantity in _SIZES)


def _place(value: Value, places: Mapping[str, Subject]) -> Subject:
    if value.where is None:
        return Subject.OPENING
    if value.where not in places:
        known = ", ".join(f"{place}:" for place in places) or "none"
        raise BadValue(
            f"--{value.option}: '{value.where}:' is no place of it", way_out=f"known: {known}"
        )
    return places[value.where]


def _leaves(
    value: Value, opening: Opening, leaf: Side | None, *, all_of_them: bool
) -> tuple[Subject, ...]:
    """The leaves that a value is about: the one it names, the only one, or all of them."""
    names = [one.name for one in opening.leaves]
    if value.where is not None and value.where not in tuple(Side):
        raise BadValue(f"--{value.option}: '{value.where}:' is no leaf", way_out="left: or right:")
    side = Side(value.where) if value.where is not None else leaf
    if side is not None and side not in names:
        raise BadValue(
            f"--{value.option}: this door has no {side} leaf",
            way_out=f"it has a {names[0]} leaf only",
        )
    if side is not None:
        return (_LEAF_OF[side],)
    if all_of_them or len(names) == 1:
        return tuple(_LEAF_OF[name] for name in names)
    raise BadValue(
        f"--{value.option}: {value.text} is of which leaf?",
        way_out=f"write --{value.option} left:{value.text} or right:{value.text}",
    )


def _leaf(opening: Opening, subject: Subject) -> Leaf:
    side = leaf_side(subject)
    leaf = opening.leaf(side) if side else None
    assert leaf is not None  # _leaves() names only leaves that are there
    return leaf


def _opening(named: set[Side]) -> Opening:
    """An opening of the leaves that were named, of which nothing else is known."""
    sides = [side for side in Side if side in named]
    return Opening(
        name="door",
        seen_from="here",
        swing=Swing.SAME_WAY if len(sides) > 1 else Swing.SINGLE,
        leaves=tuple(Leaf(name=side) for side in sides),
        motors=(),
    )
