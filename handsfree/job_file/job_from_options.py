"""Builds a job from option texts such as those of ``check``: 'left:2.9@5', '36in'.

A value may name its leaf and the controller setting that it was taken at:
``left:2.9@5`` is 2.9 of the left leaf at setting 5. The options are those of quantities.toml.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from decimal import Decimal
from typing import NamedTuple, TypeVar

from handsfree.errors import BadValue
from handsfree.job.job import Fact, Job, Sheet, UnitFamily
from handsfree.job.leaf_construction import parse_construction
from handsfree.job.opening import Leaf, Opening, Side, Swing, WeightSource
from handsfree.job.quantity import (
    OPEN_ANGLE,
    QUANTITIES,
    SWITCH_RANGE,
    Quantity,
    SubjectKind,
    ValueRange,
)
from handsfree.job.reading import LEAF_SUBJECT, Reading, Subject, Taken
from handsfree.job.unit import Family, Measure

T = TypeVar("T")

OPTIONS: dict[str, Quantity] = {
    QUANTITIES[quantity].option: quantity
    for quantity in sorted(
        (q for q in Quantity if QUANTITIES[q].option),
        # Quantities that limits depend on come first, as they are measured first.
        key=lambda q: (QUANTITIES[q].use != "sets a limit", q is not Quantity.BACKCHECK_ANGLE),
    )
}
"""Every option that takes a reading, without its dashes, and the quantity that it measures."""

_PLACES: dict[SubjectKind, dict[str, Subject]] = {
    SubjectKind.OPENING: {},
    SubjectKind.PLATE: {"left": Subject.LEFT_PLATE, "right": Subject.RIGHT_PLATE},
    SubjectKind.SIDE: {"near": Subject.NEAR_SIDE, "far": Subject.FAR_SIDE},
}
_AT_A_SETTING = (Family.TIME, Family.FORCE, Family.ANGLE)
_VALUE = re.compile(r"^(?:(left|right|near|far):)?(.*?)(?:@([^@]*))?$")


class DoorOptions(NamedTuple):
    """Options about the door other than readings; None or empty if not given.

    ``opening`` holds fields of :class:`Opening` with their values.
    """

    leaf: Side | None = None
    open_angle: tuple[str, ...] = ()
    weight_source: WeightSource | None = None
    construction: str | None = None
    switch_range: str | None = None
    opening: tuple[tuple[str, object], ...] = ()


class StatedJob(NamedTuple):
    """The job built from the options, and the controller settings by reading id.

    ``unnamed`` is true if there is one leaf and no option names it.
    """

    job: Job
    settings: dict[str, Decimal]
    unnamed: bool


class _Value(NamedTuple):
    """An option's value: its leaf or side, the text, and the controller's setting."""

    option: str
    where: str | None
    text: str
    setting: Decimal | None


def job_from_options(
    values: Mapping[str, tuple[str, ...]], sheet: Sheet | None, door: DoorOptions, taken: Taken
) -> StatedJob:
    """Adds the readings of the options to the job of a job file, or to one made from the options.

    ``values`` maps the names of :data:`OPTIONS` to their texts; ``taken`` is how times were taken.
    ``door.leaf`` is the leaf for values that name none and, without a job file, the only one.
    Raises BadValue that names the option, the value and what is plausible.
    """
    given = [_value(option, text) for option in OPTIONS for text in values.get(option, ())]
    angles = [_value("open-angle", text) for text in door.open_angle]
    named = {Side(v.where) for v in (*given, *angles) if v.where in tuple(Side)}
    unnamed = sheet is None and door.leaf is None and not named
    sides = {door.leaf} if door.leaf is not None else named or {Side.LEFT}
    opening = _with_angles(sheet.opening if sheet else _opening(sides), angles, door.leaf)
    if door.construction is not None:
        made_of = _told("construction", parse_construction, door.construction)
        for leaf in opening.leaves:
            opening = opening.with_leaf(leaf.model_copy(update={"construction": made_of}))
    stated = dict(door.opening)
    if door.switch_range is not None:
        stated["switch_range"] = _measure("switch-range", SWITCH_RANGE, door.switch_range)
    opening = opening.model_copy(update=stated)
    sheet = sheet or Sheet(
        reference="check", site="", technician="", opening=opening, units=_units(given)
    )
    job = Job.open(sheet.model_copy(update={"opening": opening}))
    settings: dict[str, Decimal] = {}
    for value in given:
        job = _with_value(job, value, door.leaf, settings, taken)
    if door.weight_source is not None:
        for leaf in opening.leaves:
            fact = Fact(
                subject=LEAF_SUBJECT[leaf.name], name="weight_source", value=door.weight_source
            )
            job = job.with_fact(fact)
    return StatedJob(job, settings, unnamed)


def _value(option: str, text: str) -> _Value:
    """Reads 'left:2.9@5'. Raises BadValue for a setting that is not a number."""
    match = _VALUE.match(text)
    assert match is not None  # the pattern accepts any text
    where, value, at = match.groups()
    if at is None:
        return _Value(option, where, value, None)
    if not re.fullmatch(r"\d+(\.\d+)?", at):
        raise BadValue(
            f"--{option}: '{at}' is not a controller setting",
            way_out="write a number after the @, such as 2.9@5",
        )
    return _Value(option, where, value, Decimal(at))


def _told(option: str, read: Callable[[str], T], text: str) -> T:
    """Parses a text; an error names the option."""
    try:
        return read(text)
    except BadValue as error:
        raise BadValue(f"--{option}: {error.message}", way_out=error.way_out) from error


def _measure(option: str, facts: ValueRange, text: str) -> Measure:
    return _told(option, facts.read, text)


def _with_angles(opening: Opening, angles: Iterable[_Value], leaf: Side | None) -> Opening:
    for value in angles:
        measure = _measure(value.option, OPEN_ANGLE, value.text)
        for side in _sides(value, opening, leaf, all_of_them=True):
            one = opening.leaf(side)
            assert one is not None  # _sides() returns only existing leaves
            opening = opening.with_leaf(one.model_copy(update={"open_angle_deg": measure.value}))
    return opening


def _units(values: Iterable[_Value]) -> UnitFamily:
    """Metric if any value is: the check answers in the units of the question."""
    metric = any(re.search(r"(?:mm|cm|\dm|kg|N)$", value.text.replace(" ", "")) for value in values)
    return "metric" if metric else "us"


def _with_value(
    job: Job, value: _Value, leaf: Side | None, settings: dict[str, Decimal], taken: Taken
) -> Job:
    """The job with one more value; adds its setting to ``settings``."""
    quantity = OPTIONS[value.option]
    is_size = QUANTITIES[quantity].use == "sets a limit"
    for subject in _subjects(value, quantity, job.opening, leaf):
        if is_size and (twice := job.latest(quantity, subject)) is not None:
            raise BadValue(
                f"--{value.option}: {twice.measure} and {value.text} for one leaf",
                way_out="a leaf has one size; give only the right one",
            )
        reading = _reading(job, value, quantity, subject, settings, taken)
        if value.setting is not None:
            settings[reading.id] = value.setting
        job = job.with_reading(reading)
    return job


def _reading(
    job: Job,
    value: _Value,
    quantity: Quantity,
    subject: Subject,
    settings: Mapping[str, Decimal],
    taken: Taken,
) -> Reading:
    """The next run of a quantity; a different controller setting begins a new attempt."""
    facts = QUANTITIES[quantity]
    measure = _measure(value.option, facts, value.text)
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
    value: _Value, quantity: Quantity, opening: Opening, leaf: Side | None
) -> tuple[Subject, ...]:
    facts = QUANTITIES[quantity]
    if facts.of is SubjectKind.LEAF:
        sides = _sides(value, opening, leaf, all_of_them=facts.use == "sets a limit")
        return tuple(LEAF_SUBJECT[side] for side in sides)
    places = _PLACES[facts.of]
    if value.where is None:
        return (Subject.OPENING,)
    if value.where not in places:
        known = ", ".join(f"{place}:" for place in places) or "none"
        raise BadValue(
            f"--{value.option}: '{value.where}:' is not a place for it", way_out=f"known: {known}"
        )
    return (places[value.where],)


def _sides(
    value: _Value, opening: Opening, leaf: Side | None, *, all_of_them: bool
) -> tuple[Side, ...]:
    """The leaves that a value applies to: the named one, the only one, or all of them."""
    names = tuple(one.name for one in opening.leaves)
    if value.where is not None and value.where not in tuple(Side):
        raise BadValue(
            f"--{value.option}: '{value.where}:' is not a leaf", way_out="left: or right:"
        )
    side = Side(value.where) if value.where is not None else leaf
    if side is not None and side not in names:
        raise BadValue(
            f"--{value.option}: this door has no {side} leaf",
            way_out=f"it has a {names[0]} leaf only",
        )
    if side is not None:
        return (side,)
    if all_of_them or len(names) == 1:
        return names
    raise BadValue(
        f"--{value.option}: of which leaf is {value.text}?",
        way_out=f"write --{value.option} left:{value.text} or right:{value.text}",
    )


def _opening(named: set[Side]) -> Opening:
    """An opening with the named leaves and no other known facts."""
    sides = [side for side in Side if side in named]
    return Opening(
        name="door",
        seen_from="here",
        swing=Swing.SAME_WAY if len(sides) > 1 else Swing.SINGLE,
        leaves=tuple(Leaf(name=side) for side in sides),
        motors=(),
    )
