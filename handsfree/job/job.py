"""The job: everything known about the door of one visit, built up from the journal."""

from __future__ import annotations

from decimal import Decimal
from enum import StrEnum
from typing import Any, Literal

from pydantic import Field, model_validator

from handsfree.job.door_feature import FEATURES
from handsfree.job.feature_values import with_leaf_feature, with_opening_feature
from handsfree.job.opening import Action, Opening, Side, WeightSource
from handsfree.job.quantity import Quantity
from handsfree.job.reading import LEAF_SIDE, Reading, Subject
from handsfree.job.record import Record
from handsfree.job.unit import Measure, Unit, convert

UnitFamily = Literal["us", "metric"]


_LEAF_FACTS: dict[str, type[StrEnum]] = {
    "hinge_side": Side,
    "weight_source": WeightSource,
    "action": Action,
}
_MOTOR_FACTS: dict[str, type[StrEnum]] = {"leaf": Side, "hand": Side}
_CLOSED: dict[Subject, dict[str, type[StrEnum]]] = {
    Subject.LEFT_LEAF: _LEAF_FACTS,
    Subject.RIGHT_LEAF: _LEAF_FACTS,
    Subject.MOTOR_ONE: _MOTOR_FACTS,
    Subject.MOTOR_TWO: _MOTOR_FACTS,
}
"""Facts that change the opening, each with its closed list of values."""


def refuse_unknown_value(subject: Subject, name: str, value: str) -> None:
    """Raises ValueError for a value outside the closed list of its fact."""
    kind = _CLOSED.get(subject, {}).get(name)
    known = tuple(kind) if kind is not None else _feature_values(subject, name)
    if known is not None and value not in known:
        raise ValueError(f"the {name} of the {subject} must be one of {', '.join(known)}")


def _feature_values(subject: Subject, name: str) -> tuple[str, ...] | None:
    """The allowed values of a feature of this subject; None for any other fact."""
    feature = FEATURES.get(name)
    of = "opening" if subject is Subject.OPENING else "leaf" if subject in LEAF_SIDE else None
    if feature is None or feature.of != of:
        return None
    return feature.accepted


class Fact(Record):
    """An observation or choice: 'left leaf', 'sign', 'in_order'."""

    subject: Subject
    name: str
    value: str

    @model_validator(mode="before")
    @classmethod
    def _without_clip(cls, data: Any) -> Any:
        """Drops ``note_clip``, a field of older journals that was never set."""
        if isinstance(data, dict) and data.get("note_clip", "") is None:
            return {key: value for key, value in data.items() if key != "note_clip"}
        return data

    @model_validator(mode="after")
    def _known(self) -> Fact:
        refuse_unknown_value(self.subject, self.name, self.value)
        return self


class LastVisit(Record):
    """Readings and choices from the last visit to the same opening.

    ``reference`` is the reference of its job, ``on`` the day it began (YYYY-MM-DD), ``last_year``
    is true if that was in the year before this visit. ``head`` is the hash of its journal's last
    line. ``readings`` are the runs of the last attempt at each quantity.
    """

    reference: str
    on: str
    readings: tuple[Reading, ...] = ()
    facts: tuple[Fact, ...] = ()
    last_year: bool = False
    head: str = ""

    def value(self, quantity: Quantity, subject: Subject) -> Measure | None:
        """The last value of a quantity, the mean of its runs; None if it was not measured."""
        runs = [r for r in self.readings if r.quantity is quantity and r.subject is subject]
        if not runs:
            return None
        unit = runs[-1].unit
        if len(runs) == 1:
            return runs[0].measure
        values = [convert(run.value, run.unit, unit) for run in runs]
        places = max(-int(run.value.as_tuple().exponent) for run in runs)
        mean = sum(values, Decimal(0)) / len(values)
        return Measure(value=Decimal(f"{mean:.{max(0, places)}f}"), unit=unit)


class Sheet(Record):
    """The content of a job file, before the visit begins.

    ``controller_guide`` is the name or file of the controller's guide, ``procedure`` that of the
    procedure, and ``date`` the day that the visit is planned for ('YYYY-MM-DD'); each is '' if the
    file does not say. ``last_visit`` holds the results of the last visit, None if none is named.
    """

    reference: str
    site: str
    technician: str
    opening: Opening
    units: UnitFamily = "us"
    limits: str = "a156.19"
    note: str = ""
    language: str = "en"
    controller_guide: str = Field(default="", exclude_if=lambda guide: not guide)
    last_visit: LastVisit | None = Field(default=None, exclude_if=lambda last: last is None)
    procedure: str = Field(default="", exclude_if=lambda procedure: not procedure)
    date: str = Field(default="", exclude_if=lambda date: not date)


class Job(Record):
    """Everything known in a visit: the job file, the opening as known now, readings, facts.

    Readings are in the order of acceptance; a withdrawn one is removed here (the journal keeps it).
    ``open_faults`` holds the keys of the faults open in a conversation.
    """

    sheet: Sheet
    opening: Opening
    readings: tuple[Reading, ...] = ()
    facts: tuple[Fact, ...] = ()
    open_faults: tuple[str, ...] = ()

    @classmethod
    def open(cls, sheet: Sheet) -> Job:
        """A job as described in the job file, without readings."""
        return cls(sheet=sheet, opening=sheet.opening)

    def runs(self, quantity: Quantity, subject: Subject) -> tuple[Reading, ...]:
        """The runs of the last attempt ('as left'), oldest first."""
        mine = self._of(quantity, subject)
        return tuple(r for r in mine if r.attempt == mine[-1].attempt)

    def as_found(self, quantity: Quantity, subject: Subject) -> tuple[Reading, ...]:
        """The runs of the first attempt."""
        mine = self._of(quantity, subject)
        return tuple(r for r in mine if r.attempt == mine[0].attempt)

    def latest(self, quantity: Quantity, subject: Subject) -> Reading | None:
        """The last accepted reading, or None."""
        mine = self._of(quantity, subject)
        return mine[-1] if mine else None

    def _of(self, quantity: Quantity, subject: Subject) -> tuple[Reading, ...]:
        return tuple(r for r in self.readings if r.quantity is quantity and r.subject is subject)

    def with_reading(self, reading: Reading) -> Job:
        """The job with one more accepted reading, which also updates leaf dimensions."""
        return self._reread((*self.readings, reading))

    def without_reading(self, reading_id: str) -> Job:
        """The job with one reading withdrawn."""
        return self._reread(tuple(r for r in self.readings if r.id != reading_id))

    def with_amended(self, reading_id: str, new: Measure) -> Job:
        """The job with a new value and unit for one of its readings."""
        update = {"value": new.value, "unit": new.unit}
        return self._reread(
            tuple(r.model_copy(update=update) if r.id == reading_id else r for r in self.readings)
        )

    def with_only(self, readings: tuple[Reading, ...]) -> Job:
        """The job with only these readings; its facts stay."""
        return self._reread(readings)

    def fact(self, subject: Subject, name: str) -> str | None:
        """The value of a fact, or None if it was not observed."""
        for fact in self.facts:
            if fact.subject is subject and fact.name == name:
                return fact.value
        return None

    def known(self, subject: Subject, name: str) -> str | None:
        """A fact, or the job file's entry for that motor or leaf; None if neither exists."""
        if (found := self.fact(subject, name)) is not None:
            return found
        side, motor = leaf_side(subject), self.opening.motor(_MOTOR_OF.get(subject, 0))
        leaf = self.opening.leaf(side) if side is not None else None
        if leaf is not None:
            return leaf.features.get(name)
        return getattr(motor, name) if motor is not None and name in _MOTOR_FACTS else None

    def with_fact(self, fact: Fact) -> Job:
        """The job with a fact set, which also updates the opening, its leaves and motors."""
        others = tuple(f for f in self.facts if (f.subject, f.name) != (fact.subject, fact.name))
        job = self.model_copy(update={"facts": (*others, fact)})
        return job._reread(self.readings)

    def without_fact(self, subject: Subject, name: str) -> Job:
        """The job with a fact removed; the opening reverts to the job file."""
        others = tuple(f for f in self.facts if (f.subject, f.name) != (subject, name))
        return self.model_copy(update={"facts": others})._reread(self.readings)

    def _reread(self, readings: tuple[Reading, ...]) -> Job:
        """The job with these readings; the opening is recomputed from the sheet, the facts and
        them.
        """
        opening = self.sheet.opening
        for fact in self.facts:
            opening = _apply_fact(opening, fact)
        for reading in readings:
            opening = _apply_reading(opening, reading)
        return self.model_copy(update={"readings": readings, "opening": opening})


_MOTOR_OF = {Subject.MOTOR_ONE: 1, Subject.MOTOR_TWO: 2}
_DIMENSION = {
    Quantity.LEAF_WIDTH: "width",
    Quantity.LEAF_HEIGHT: "height",
    Quantity.LEAF_WEIGHT: "weight",
}


def leaves_of(job: Job) -> tuple[Subject, ...]:
    """The leaves of the opening, left first."""
    return tuple(s for s, side in LEAF_SIDE.items() if job.opening.leaf(side) is not None)


def leaf_side(subject: Subject) -> Side | None:
    """The side of a leaf subject, or None for any other subject."""
    return LEAF_SIDE.get(subject)


def _apply_reading(opening: Opening, reading: Reading) -> Opening:
    side = leaf_side(reading.subject)
    leaf = opening.leaf(side) if side else None
    if leaf is None:
        return opening
    if reading.quantity in _DIMENSION:
        update: dict[str, object] = {_DIMENSION[reading.quantity]: reading.measure}
    elif reading.quantity is Quantity.BACKCHECK_ANGLE:
        update = {"backcheck_angle_deg": convert(reading.value, reading.unit, Unit.DEGREE)}
    else:
        return opening
    return opening.with_leaf(leaf.model_copy(update=update))


def _apply_fact(opening: Opening, fact: Fact) -> Opening:
    if fact.subject in _MOTOR_OF:
        motor = opening.motor(_MOTOR_OF[fact.subject])
        if motor is not None and fact.name in ("leaf", "hand"):
            update = {fact.name: Side(fact.value)}
            return opening.with_motor(motor.model_copy(update=update))
    feature = FEATURES.get(fact.name)
    if fact.subject is Subject.OPENING and feature is not None and feature.of == "opening":
        return with_opening_feature(opening, fact.name, fact.value)
    side = leaf_side(fact.subject)
    leaf = opening.leaf(side) if side else None
    if leaf is None:
        return opening
    if fact.name == "hinge_side":
        return opening.with_leaf(leaf.model_copy(update={"hinge_side": Side(fact.value)}))
    if fact.name == "weight_source":
        source = WeightSource(fact.value)
        return opening.with_leaf(leaf.model_copy(update={"weight_source": source}))
    if fact.name == "action":
        return opening.with_leaf(leaf.model_copy(update={"action": Action(fact.value)}))
    if feature is not None and feature.of == "leaf":
        return opening.with_leaf(with_leaf_feature(leaf, fact.name, fact.value))
    return opening
