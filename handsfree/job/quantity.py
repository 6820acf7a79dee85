"""Everything that can be measured on a door, with unit family, range and resolution.

Plausible ranges are common practice (no published source): outside them the tool
asks again, it never clamps.
"""

from __future__ import annotations

from decimal import Decimal
from enum import StrEnum

from handsfree.job.record import Record
from handsfree.job.unit import Family, Measure, Unit, in_base_unit


class Quantity(StrEnum):
    """A measured quantity; its value is the name used in files and JSON."""

    OPENING_TIME = "opening_time"
    TOTAL_OPENING_TIME = "total_opening_time"
    HOLD_OPEN_TIME = "hold_open_time"
    CLOSING_TIME = "closing_time"
    LATCHING_TIME = "latching_time"
    BACKCHECK_ANGLE = "backcheck_angle"
    LEAF_WIDTH = "leaf_width"
    LEAF_HEIGHT = "leaf_height"
    LEAF_WEIGHT = "leaf_weight"
    OPENING_FORCE = "opening_force"
    CLOSING_FORCE = "closing_force"
    RELEASE_FORCE = "release_force"
    SET_IN_MOTION_FORCE = "set_in_motion_force"
    OPEN_FULLY_FORCE = "open_fully_force"
    PLATE_HEIGHT = "plate_height"
    PLATE_DISTANCE = "plate_distance"
    SIGN_HEIGHT = "sign_height"
    CLEAR_WIDTH = "clear_width"
    CYCLES = "cycles"
    NEXT_SERVICE = "next_service"
    OPENING_SPEED = "opening_speed"
    BACKCHECK_SPEED = "backcheck_speed"
    CLOSING_SPEED = "closing_speed"
    LATCHING_SPEED = "latching_speed"
    HOLD_OPEN_SETTING = "hold_open_setting"


SETTINGS = (
    Quantity.OPENING_SPEED,
    Quantity.BACKCHECK_SPEED,
    Quantity.CLOSING_SPEED,
    Quantity.LATCHING_SPEED,
    Quantity.HOLD_OPEN_SETTING,
)
"""What a controller is set to, on its own scale; nothing measured."""


class QuantityFacts(Record):
    """What is known of a quantity.

    ``low`` and ``high`` bound what is plausible, in ``unit``; ``resolution`` is the
    finest step a person can read, in ``unit``.
    """

    spoken: str
    family: Family
    unit: Unit
    unit_metric: Unit
    low: Decimal
    high: Decimal
    resolution: Decimal

    def default_unit(self, units: str) -> Unit:
        """The unit meant when none is said; ``units`` is 'us' or 'metric'."""
        return self.unit_metric if units == "metric" else self.unit

    @property
    def plausible_range(self) -> str:
        """The plausible range in words: 'from 18 in to 60 in'."""
        low, high = (Measure(value=value, unit=self.unit) for value in (self.low, self.high))
        return f"from {low} to {high}"

    def plausible(self, measure: Measure) -> bool:
        """Whether a measure lies in the plausible range (both ends included)."""
        value = measure.in_base_unit()
        return in_base_unit(self.low, self.unit) <= value <= in_base_unit(self.high, self.unit)


def _facts(
    spoken: str,
    family: Family,
    unit: Unit,
    low: str,
    high: str,
    resolution: str,
    metric: Unit | None = None,
) -> QuantityFacts:
    return QuantityFacts(
        spoken=spoken,
        family=family,
        unit=unit,
        unit_metric=metric or unit,
        low=Decimal(low),
        high=Decimal(high),
        resolution=Decimal(resolution),
    )


def _time(spoken: str, low: str, high: str) -> QuantityFacts:
    return _facts(spoken, Family.TIME, Unit.SECOND, low, high, "0.01")


def _length(spoken: str, low: str, high: str) -> QuantityFacts:
    return _facts(spoken, Family.LENGTH, Unit.INCH, low, high, "0.25", Unit.MILLIMETRE)


def _setting(spoken: str) -> QuantityFacts:
    return _facts(spoken, Family.STEP, Unit.STEP, "0", "999", "1")


def _force(spoken: str) -> QuantityFacts:
    return _facts(spoken, Family.FORCE, Unit.POUND_FORCE, "0.5", "60", "0.5", Unit.NEWTON)


QUANTITIES: dict[Quantity, QuantityFacts] = {
    Quantity.OPENING_TIME: _time("opening time", "0.5", "20"),
    Quantity.TOTAL_OPENING_TIME: _time("total opening time", "1", "30"),
    Quantity.HOLD_OPEN_TIME: _time("hold open time", "0", "60"),
    Quantity.CLOSING_TIME: _time("closing time", "0.5", "30"),
    Quantity.LATCHING_TIME: _time("latching time", "0.2", "15"),
    Quantity.BACKCHECK_ANGLE: _facts(
        "backcheck angle", Family.ANGLE, Unit.DEGREE, "30", "120", "1"
    ),
    Quantity.LEAF_WIDTH: _length("leaf width", "18", "60"),
    Quantity.LEAF_HEIGHT: _length("leaf height", "60", "144"),
    Quantity.LEAF_WEIGHT: _facts(
        "leaf weight", Family.MASS, Unit.POUND, "30", "700", "1", Unit.KILOGRAM
    ),
    Quantity.OPENING_FORCE: _force("opening force"),
    Quantity.CLOSING_FORCE: _force("closing force"),
    Quantity.RELEASE_FORCE: _force("force to release the latch"),
    Quantity.SET_IN_MOTION_FORCE: _force("force to set in motion"),
    Quantity.OPEN_FULLY_FORCE: _force("force to open fully"),
    Quantity.PLATE_HEIGHT: _length("plate height", "6", "72"),
    Quantity.PLATE_DISTANCE: _facts(
        "plate distance", Family.LENGTH, Unit.FOOT, "0.5", "60", "0.5", Unit.METRE
    ),
    Quantity.SIGN_HEIGHT: _length("sign height", "20", "90"),
    Quantity.CLEAR_WIDTH: _length("clear width", "18", "120"),
    Quantity.CYCLES: _facts("number of cycles", Family.COUNT, Unit.ONE, "1", "100", "1"),
    Quantity.NEXT_SERVICE: _facts("next service", Family.SPAN, Unit.MONTH, "1", "24", "1"),
    Quantity.OPENING_SPEED: _setting("opening speed"),
    Quantity.BACKCHECK_SPEED: _setting("backcheck speed"),
    Quantity.CLOSING_SPEED: _setting("closing speed"),
    Quantity.LATCHING_SPEED: _setting("latching speed"),
    Quantity.HOLD_OPEN_SETTING: _setting("hold open setting"),
}

OPEN_ANGLE = _facts("fully open angle", Family.ANGLE, Unit.DEGREE, "70", "180", "1")
"""How far a leaf opens: known from its drawing or its stop, not read in a visit."""

SWITCH_RANGE = _facts("switch range", Family.LENGTH, Unit.INCH, "0.5", "60", "0.5", Unit.MILLIMETRE)
"""How far a touchless switch sees a hand: told in the job file, not read in a visit."""
