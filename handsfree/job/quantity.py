"""Everything that can be measured on a door, as described by the rows of quantities.toml."""

from __future__ import annotations

from decimal import Decimal
from enum import StrEnum
from pathlib import Path
from typing import Any, ClassVar, Literal, TypeVar

from pydantic import Field, ValidationError, model_validator

from handsfree.errors import BadValue, HandsfreeError
from handsfree.job.record import Record
from handsfree.job.unit import Family, Measure, Unit, family_of, in_base_unit, parse_measure
from handsfree.toml_source import TomlSource

FILE = Path(__file__).with_name("quantities.toml")
"""The table of all quantities; its head explains the keys."""
_NOT_READ = "not_read"
_NEEDS_UNIT = (Family.LENGTH, Family.MASS, Family.FORCE)

V = TypeVar("V", bound="ValueRange")

_source = TomlSource(FILE.read_text(encoding="utf-8"), FILE, HandsfreeError)
_not_read = _source.data.pop(_NOT_READ)


class Quantity(StrEnum):
    """A measured quantity; its value is the name used in files and JSON."""

    # The members are the rows of quantities.toml, in their order. Only those that code names are
    # declared here, so that a wrong name is a type error.
    OPENING_TIME: ClassVar[Quantity]
    TOTAL_OPENING_TIME: ClassVar[Quantity]
    HOLD_OPEN_TIME: ClassVar[Quantity]
    CLOSING_TIME: ClassVar[Quantity]
    LATCHING_TIME: ClassVar[Quantity]
    BACKCHECK_ANGLE: ClassVar[Quantity]
    LEAF_WIDTH: ClassVar[Quantity]
    LEAF_HEIGHT: ClassVar[Quantity]
    LEAF_WEIGHT: ClassVar[Quantity]
    OPENING_FORCE: ClassVar[Quantity]
    CLOSING_FORCE: ClassVar[Quantity]
    RELEASE_FORCE: ClassVar[Quantity]
    SET_IN_MOTION_FORCE: ClassVar[Quantity]
    OPEN_FULLY_FORCE: ClassVar[Quantity]
    PLATE_HEIGHT: ClassVar[Quantity]
    PLATE_DISTANCE: ClassVar[Quantity]
    SIGN_HEIGHT: ClassVar[Quantity]
    CLEAR_WIDTH: ClassVar[Quantity]
    CYCLES: ClassVar[Quantity]
    NEXT_SERVICE: ClassVar[Quantity]
    OPENING_SPEED: ClassVar[Quantity]
    BACKCHECK_SPEED: ClassVar[Quantity]
    CLOSING_SPEED: ClassVar[Quantity]
    LATCHING_SPEED: ClassVar[Quantity]
    HOLD_OPEN_SETTING: ClassVar[Quantity]

    # The standard library's idiom for computed members (enum, _ignore_).
    _ignore_ = "_members _row"
    _members = vars()
    for _row in _source.data:
        _members[_row.upper()] = _row


class SubjectKind(StrEnum):
    """The kind of subject that a quantity is measured on."""

    LEAF = "leaf"
    PLATE = "plate"
    SIDE = "side"
    OPENING = "opening"


Use = Literal["judged", "sets a limit", "record"]
"""The purpose of a reading: it is judged, sets the limit of another quantity, or is recorded
only.
"""


class ValueRange(Record):
    """A kind of value: its name, units and plausible range.

    ``low`` and ``high`` are the plausible range, ``resolution`` the finest step that a person can
    read, all in ``unit``.
    """

    spoken: str
    family: Family
    unit: Unit
    unit_metric: Unit
    low: Decimal
    high: Decimal
    resolution: Decimal = Field(gt=0)

    @model_validator(mode="after")
    def _consistent(self) -> ValueRange:
        for unit in (self.unit, self.unit_metric):
            if family_of(unit) is not self.family:
                raise ValueError(f"unit: '{unit}' is not a unit of {self.family}")
        if self.low >= self.high:
            raise ValueError(f"low: {self.low} is not below high, {self.high}")
        return self

    def default_unit(self, units: str) -> Unit:
        """The unit meant when none is said; ``units`` is 'us' or 'metric'."""
        return self.unit_metric if units == "metric" else self.unit

    @property
    def plausible_range(self) -> str:
        """The plausible range in words: 'from 18 in to 60 in'."""
        low, high = (Measure(value=value, unit=self.unit) for value in (self.low, self.high))
        return f"from {low} to {high}"

    def read(self, text: str) -> Measure:
        """Reads '36in' or '6.2'. Raises BadValue with the plausible range as the way out.

        The unit may be omitted for a time or an angle, which have only one. A length, weight or
        force needs it, because people assume different units.
        """
        default = None if self.family in _NEEDS_UNIT else self.unit
        plausible = f"plausible: {self.plausible_range}"
        try:
            measure = parse_measure(text, self.family, default)
        except BadValue as error:
            way_out = f"{error.way_out}; {plausible}" if error.way_out else plausible
            raise BadValue(error.message, way_out=way_out) from error
        if not self.plausible(measure):
            raise BadValue(f"{text} is not a plausible {self.spoken}", way_out=plausible)
        return measure

    def plausible(self, measure: Measure) -> bool:
        """True if a measure lies in the plausible range (both ends included)."""
        value = measure.in_base_unit()
        return in_base_unit(self.low, self.unit) <= value <= in_base_unit(self.high, self.unit)


class QuantityWords(Record):
    """A quantity in one language.

    ``say`` holds its spoken forms, ``short`` those that suffice after the subject, both in the
    notation of the grammar; ``does`` explains it in the table of phrases.
    """

    name: str
    say: tuple[str, ...] = Field(min_length=1)
    short: tuple[str, ...] = ()
    does: str


class QuantityFacts(ValueRange):
    """A row of quantities.toml.

    ``use`` is None for a quantity without a purpose, which no procedure may ask for. ``limits``
    holds the keys of a limit set that it is compared with; ``angles_deg`` the angles at which it is
    measured, from 1 to 90. ``option`` is its option of ``check``, or ''. ``words`` has one entry
    per language.
    """

    of: SubjectKind
    use: Use | None = None
    limits: tuple[str, ...] = ()
    angles_deg: tuple[Decimal, ...] = ()
    option: str = ""
    option_help: str = ""
    words: dict[str, QuantityWords]


def line_of(quantity: Quantity, key: str | None = None) -> int:
    """The line in quantities.toml (from 1) of a quantity, or of a key in it."""
    return _source.line(quantity, key=key)


def quantity_words(quantity: Quantity, language: str) -> QuantityWords:
    """A quantity's words in a language. Raises HandsfreeError, with the line of its row, if
    missing.
    """
    words = QUANTITIES[quantity].words.get(language)
    if words is None:
        raise HandsfreeError(
            f"'{quantity}' has no words of the language '{language}'",
            file=FILE,
            line=line_of(quantity),
            way_out=f'add {language}.name = "...", {language}.say and {language}.does',
        )
    return words


def read_rows(source: TomlSource) -> dict[str, QuantityFacts]:
    """Reads a table of quantities: its rows by id; a table within a row is a language.

    Raises HandsfreeError with file and line for an invalid row.
    """
    rows: dict[str, QuantityFacts] = {}
    for quantity, row in source.data.items():
        words = {key: value for key, value in row.items() if isinstance(value, dict)}
        facts = {key: value for key, value in row.items() if key not in words}
        spoken = words.get("en", {}).get("name", "")
        rows[quantity] = _validated(
            source, QuantityFacts, quantity, {**facts, "spoken": spoken, "words": words}
        )
    return rows


def _validated(source: TomlSource, kind: type[V], table: str, row: dict[str, Any]) -> V:
    try:
        return kind.model_validate({"unit_metric": row.get("unit"), **row})
    except ValidationError as error:
        raise source.refused(error, table) from error


QUANTITIES: dict[Quantity, QuantityFacts] = {
    Quantity(quantity): facts for quantity, facts in read_rows(_source).items()
}

SETTINGS = tuple(q for q, facts in QUANTITIES.items() if facts.family is Family.STEP)
"""Quantities that are set on a controller, on its own scale; none of them is measured."""

OPEN_ANGLE = _validated(_source, ValueRange, f"{_NOT_READ}.open_angle", _not_read["open_angle"])
"""The fully open angle of a leaf: known from its drawing or its stop, not read in a visit."""

SWITCH_RANGE = _validated(
    _source, ValueRange, f"{_NOT_READ}.switch_range", _not_read["switch_range"]
)
"""Detection range of a touchless switch: given in the job file, not read in a visit."""
