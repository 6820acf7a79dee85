"""The records of a limit set: values, tables, formulas and reminders, each with its source."""

from __future__ import annotations

import itertools
from decimal import Decimal
from enum import StrEnum
from typing import Annotated, Literal

from pydantic import Field, model_validator

from handsfree.job.finding import Binding
from handsfree.job.record import Record
from handsfree.job.unit import Family, Unit, family_of

Bound = Literal["at least", "at most"]
Positive = Annotated[Decimal, Field(gt=0)]
NOT_NOTED = "not noted"


class Status(StrEnum):
    """The kind of evidence for a value."""

    SEEN = "seen"
    MEMORY = "memory"
    DERIVED = "derived"
    COMMON_PRACTICE = "common practice"
    HOUSE_RULE = "house rule"


class Sourced(Record):
    """The source of a value: the document, its edition and clause, and how the value is known.

    ``note`` adds in a few words what the other fields cannot say. ``looser_than`` is set where a
    value allows more than the set that its file extends: 'a156.19, at least 1.5 s'.
    """

    source: str
    edition: str = NOT_NOTED
    clause: str = NOT_NOTED
    status: Status
    note: str = ""
    looser_than: str = ""

    def cite(self) -> str:
        """The source in one line, as shown in findings."""
        edition = "" if self.edition == NOT_NOTED else f" ({self.edition})"
        clause = "" if self.clause == NOT_NOTED else f", {self.clause}"
        looser = f"; looser than {self.looser_than}" if self.looser_than else ""
        return f"{self.source}{edition}{clause}: {self.status}{looser}"


class Limit(Sourced):
    """One value that a reading is compared with."""

    bound: Bound
    value: Positive
    unit: Unit
    recommendation: bool = False

    @property
    def binding(self) -> Binding:
        """Requirement if the limit must be kept, recommendation otherwise."""
        return Binding.RECOMMENDATION if self.recommendation else Binding.REQUIREMENT


class Limits(Record):
    """The single values of a set. Times in s; forces at 1 in (25 mm) from the latch edge.

    ``opening_floor`` and ``closing_floor`` are the least travel times of any leaf, however small. A
    quantity without a value in a set is not judged.
    """

    opening_floor: Limit | None = None
    closing_floor: Limit
    latching: Limit
    hold_open: Limit
    hold_open_manual_start: Limit | None = None
    backcheck_angle: Limit | None = None
    energy: Limit
    stall_force: Limit
    release_force: Limit
    set_in_motion_force: Limit
    open_fully_force: Limit
    sign_height_least: Limit | None = None
    sign_height_most: Limit | None = None
    plate_height_least: Limit | None = None
    plate_height_most: Limit | None = None
    plate_distance: Limit | None = None
    plate_distance_least: Limit | None = None
    plate_free_distance: Limit | None = None
    hold_open_per_foot: Limit | None = None
    inspection_interval: Limit | None = None
    clear_width: Limit | None = None
    switch_range: Limit | None = None


_KIND: dict[str, tuple[Family, Bound]] = {
    "opening_floor": (Family.TIME, "at least"),
    "closing_floor": (Family.TIME, "at least"),
    "latching": (Family.TIME, "at least"),
    "hold_open": (Family.TIME, "at least"),
    "hold_open_manual_start": (Family.TIME, "at least"),
    "backcheck_angle": (Family.ANGLE, "at least"),
    "energy": (Family.ENERGY, "at most"),
    "stall_force": (Family.FORCE, "at most"),
    "release_force": (Family.FORCE, "at most"),
    "set_in_motion_force": (Family.FORCE, "at most"),
    "open_fully_force": (Family.FORCE, "at most"),
    "sign_height_least": (Family.LENGTH, "at least"),
    "sign_height_most": (Family.LENGTH, "at most"),
    "plate_height_least": (Family.LENGTH, "at least"),
    "plate_height_most": (Family.LENGTH, "at most"),
    "plate_distance": (Family.LENGTH, "at most"),
    "plate_distance_least": (Family.LENGTH, "at least"),
    "plate_free_distance": (Family.LENGTH, "at most"),
    "hold_open_per_foot": (Family.TIME, "at least"),
    "inspection_interval": (Family.SPAN, "at most"),
    "clear_width": (Family.LENGTH, "at least"),
    "switch_range": (Family.LENGTH, "at most"),
}


class TableOne(Sourced):
    """Least travel time in s by leaf width (rows, inches) and leaf weight (columns, pounds)."""

    widths_in: tuple[Positive, ...]
    weights_lb: tuple[Positive, ...]
    seconds: tuple[tuple[Positive, ...], ...]

    @model_validator(mode="after")
    def _grid(self) -> TableOne:
        rows, columns = len(self.widths_in), len(self.weights_lb)
        if len(self.seconds) != rows or any(len(row) != columns for row in self.seconds):
            raise ValueError(f"seconds: expected {rows} rows of {columns} values")
        if not (_rises(self.widths_in) and _rises(self.weights_lb)):
            raise ValueError("widths_in and weights_lb must rise")
        lines = (*self.seconds, *zip(*self.seconds, strict=True))
        if any(a > b for line in lines for a, b in itertools.pairwise(line)):
            raise ValueError("seconds must never fall with a wider or heavier leaf")
        return self

    def cell(self, width_in: Decimal, weight_lb: Decimal) -> Decimal | None:
        """The cell of exactly this size, or None."""
        if width_in not in self.widths_in or weight_lb not in self.weights_lb:
            return None
        return self.seconds[self.widths_in.index(width_in)][self.weights_lb.index(weight_lb)]

    def up_to(self, width_in: Decimal, weight_lb: Decimal) -> Decimal | None:
        """The longest time of a leaf neither wider nor heavier than this one, or None."""
        rows = sum(width <= width_in for width in self.widths_in)
        columns = sum(weight <= weight_lb for weight in self.weights_lb)
        return self.seconds[rows - 1][columns - 1] if rows and columns else None


class Formula(Sourced):
    """T = D·√W / constant: T in s, D in inches, W in pounds; rounded up to a step (s)."""

    constant_in_lb: Positive
    round_up_to_s: Positive


class Physics(Sourced):
    """The time that the energy limit requires, rounded up (s), for a set without a formula.

    ``proven_step_s`` is a finer step, for a table that was not seen in its source: a reading below
    the time rounded up to it fails, a reading between the two is not judged.
    """

    round_up_to_s: Positive
    proven_step_s: Positive | None = None


class TableTwo(Sourced):
    """Seconds from closed to 90 degrees beyond the travel time, by backcheck angle."""

    backcheck_deg: tuple[Positive, ...]
    extra_s: tuple[Positive, ...]

    @model_validator(mode="after")
    def _rows(self) -> TableTwo:
        if len(self.backcheck_deg) != len(self.extra_s) or not self.extra_s:
            raise ValueError("extra_s: expected one value for each backcheck angle")
        if not _rises(tuple(reversed(self.backcheck_deg))):
            raise ValueError("backcheck_deg must fall from row to row")
        if self.backcheck_deg[0] >= 90:
            raise ValueError("backcheck_deg: expected angles below 90 degrees")
        return self


class About(StrEnum):
    """The doors that a reminder applies to."""

    EVERY_DOOR = "every door"
    CONTROL = "control"
    PAIR = "pair"
    FIRE_DOOR = "fire door"
    SERIES = "series"


class Reminder(Sourced):
    """Something to inspect that is not judged here; ``text`` is one sentence in our own words."""

    name: str
    about: About
    text: str


class LimitSet(Record):
    """One set of limits.

    ``sha256`` is the hash of its file together with the file that it extends.
    """

    name: str
    title: str
    spoken: str
    sha256: str
    extends: str | None = None
    limit: Limits
    table_one: TableOne | None = None
    formula: Formula | None = None
    physics: Physics | None = None
    table_two: TableTwo | None = None
    reminder: tuple[Reminder, ...] = ()

    @model_validator(mode="after")
    def _one_way_to_compute(self) -> LimitSet:
        for key, (family, bound) in _KIND.items():
            value: Limit | None = getattr(self.limit, key)
            if value is None:
                continue
            if family_of(value.unit) is not family:
                raise ValueError(f"limit.{key}.unit: {value.unit} is no {family}")
            if value.bound != bound:
                raise ValueError(f"limit.{key}.bound: expected '{bound}', not '{value.bound}'")
        if (self.formula is None) is (self.physics is None):
            raise ValueError("expected either [formula] or [physics] for the sizes off the table")
        return self


def _rises(values: tuple[Decimal, ...]) -> bool:
    return all(a < b for a, b in itertools.pairwise(values))
