"""The technician's measurements with stopwatch, gauge, tape and eyes.

Every time includes a person's error: an anticipated event is marked 0.11 s late with a standard
deviation of 0.07 s, so an interval between two events has no delay and 0.10 s of scatter (Am. J.
Phys. 87(2), 110, 2019: seen). A gauge is read to its resolution.
"""

from __future__ import annotations

from decimal import ROUND_HALF_EVEN, Decimal
from random import Random

from handsfree.checks.measurement_uncertainty import LATE_S, ONE_END_SD_S
from handsfree.job.opening import Side
from handsfree.job.quantity import QUANTITIES, SETTINGS, Quantity
from handsfree.job.reading import LEAF_SIDE, Subject
from handsfree.job.unit import Measure, Unit, convert
from handsfree.rehearsal.cycle import Cycle
from handsfree.rehearsal.door import Door
from handsfree.rehearsal.drive import Drive
from handsfree.rehearsal.leaf_body import Body
from handsfree.rehearsal.operator import SettingName
from handsfree.rehearsal.phrasing import IntendedReading

MOMENTS = ("starts_s", "backcheck_s", "open_s", "ninety_s", "ten_s", "shut_s")
"""Moments of a cycle in the order of the clock's marks."""
_SPAN = {
    Quantity.OPENING_TIME: ("starts_s", "backcheck_s"),
    Quantity.TOTAL_OPENING_TIME: ("starts_s", "open_s"),
    Quantity.HOLD_OPEN_TIME: ("open_s", "closes_s"),
    Quantity.CLOSING_TIME: ("ninety_s", "ten_s"),
    Quantity.LATCHING_TIME: ("ten_s", "shut_s"),
}
SETTING_OF: dict[Quantity, SettingName] = {
    Quantity.OPENING_TIME: "opening_speed",
    Quantity.TOTAL_OPENING_TIME: "backcheck_speed",
    Quantity.HOLD_OPEN_TIME: "hold_open_setting",
    Quantity.CLOSING_TIME: "closing_speed",
    Quantity.LATCHING_TIME: "latching_speed",
    Quantity.OPENING_FORCE: "opening_force",
    Quantity.CLOSING_FORCE: "closing_force",
    Quantity.BACKCHECK_ANGLE: "backcheck_angle",
    Quantity.OPENING_SPEED: "opening_speed",
    Quantity.BACKCHECK_SPEED: "backcheck_speed",
    Quantity.CLOSING_SPEED: "closing_speed",
    Quantity.LATCHING_SPEED: "latching_speed",
    Quantity.HOLD_OPEN_SETTING: "hold_open_setting",
}


class MeasuringTools:
    """Measures on one door; ``random`` is the person's scatter."""

    def __init__(self, door: Door, random: Random) -> None:
        self._door = door
        self._random = random
        self._metric = door.spec.sheet.units == "metric"
        self.measured: dict[tuple[Quantity, Subject], tuple[Body, Drive]] = {}
        """The leaf and its operator at the latest measurement of each quantity."""

    def measure(self, quantity: Quantity, subject: Subject) -> IntendedReading | None:
        """Returns a person's reading, or None if there is nothing to read."""
        found = self._value(quantity, subject)
        if found is None:
            return None
        self.remember(quantity, subject)
        return IntendedReading(
            quantity=quantity, subject=subject, value=found.value, unit=found.unit
        )

    def remember(self, quantity: Quantity, subject: Subject) -> None:
        """Stores the leaf's current state as the truth for a later comparison."""
        if subject in LEAF_SIDE:
            side = LEAF_SIDE[subject]
            now = (self._door.body(side), self._door.drive(side, scatter=False))
            self.measured[quantity, subject] = now

    def marks(self, cycle: Cycle) -> tuple[float, ...] | None:
        """Times at which the person marks the moments of a cycle, late and with scatter.

        None if a moment is missing.
        """
        at = [getattr(cycle, name) for name in MOMENTS]
        if any(moment is None for moment in at):
            return None
        late = [moment + float(LATE_S) + self._random.gauss(0.0, ONE_END_SD_S) for moment in at]
        return tuple(late)

    def _value(self, quantity: Quantity, subject: Subject) -> Measure | None:
        side = self._door.side_of(subject)
        if quantity in _SPAN:
            return self._time(quantity, side)
        if quantity in SETTINGS:
            shown = self._door.setting(side, SETTING_OF[quantity])
            return Measure(value=Decimal(shown), unit=Unit.STEP)
        return self._gauge(quantity, side) or self._tape(quantity, subject)

    def _time(self, quantity: Quantity, side: Side) -> Measure | None:
        cycle = self._door.cycle(side)
        begin, end = (getattr(cycle, name) for name in _SPAN[quantity])
        if begin is None or end is None:
            return None
        error = self._random.gauss(0.0, ONE_END_SD_S) - self._random.gauss(0.0, ONE_END_SD_S)
        places = "0.01" if self._random.random() < 0.7 else "0.1"
        seconds = max(Decimal("0.1"), _rounded(end - begin + error, places))
        return Measure(value=seconds, unit=Unit.SECOND)

    def _gauge(self, quantity: Quantity, side: Side) -> Measure | None:
        body = self._door.body(side)
        match quantity:
            case Quantity.OPENING_FORCE:
                force = self._door.stall_n(side, "opening")
            case Quantity.CLOSING_FORCE:
                force = self._door.stall_n(side, "closing")
            case Quantity.RELEASE_FORCE:
                force = body.release_n()
            case Quantity.SET_IN_MOTION_FORCE:
                force = body.set_in_motion_n()
            case Quantity.OPEN_FULLY_FORCE:
                force = body.open_fully_n()
            case _:
                return None
        read_n = max(3.0, force + self._random.gauss(0.0, 0.5))
        if self._metric:
            return Measure(value=_rounded(read_n, "1"), unit=Unit.NEWTON)
        pounds = convert(Decimal(repr(read_n)), Unit.NEWTON, Unit.POUND_FORCE)
        return Measure(value=_plain(round(2 * pounds) / Decimal(2)), unit=Unit.POUND_FORCE)

    def _tape(self, quantity: Quantity, subject: Subject) -> Measure | None:
        spec = self._door.spec
        leaf = spec.leaves[self._door.side_of(subject)]
        match quantity:
            case Quantity.LEAF_WIDTH:
                return leaf.width
            case Quantity.LEAF_HEIGHT:
                return leaf.height
            case Quantity.LEAF_WEIGHT:
                return leaf.weight
            case Quantity.BACKCHECK_ANGLE:
                # With a protractor on the floor: accurate to the degree.
                angle = self._door.settings[self._door.channel(LEAF_SIDE[subject])][
                    "backcheck_angle"
                ]
                return Measure(value=Decimal(angle), unit=Unit.DEGREE)
            case Quantity.PLATE_HEIGHT:
                return spec.plate_height[subject]
            case Quantity.PLATE_DISTANCE:
                return spec.plate_distance[subject]
            case Quantity.SIGN_HEIGHT:
                return spec.sign_height[subject]
            case Quantity.CLEAR_WIDTH:
                return _clear_width(leaf.width)
            case Quantity.CYCLES:
                return Measure(value=Decimal(10), unit=Unit.ONE)
            case Quantity.NEXT_SERVICE:
                return Measure(value=Decimal(self._random.choice((6, 12))), unit=Unit.MONTH)
            case _:
                return None


def _clear_width(leaf_width: Measure) -> Measure:
    """Clear width of a leaf: its width minus its thickness, about 2 in (50 mm)."""
    thickness = convert(Decimal(2), Unit.INCH, leaf_width.unit)
    width = (leaf_width.value - thickness).quantize(Decimal(1))
    return Measure(value=_plain(width), unit=leaf_width.unit)


def misread(meant: IntendedReading, random: Random) -> IntendedReading:
    """The same reading with one digit wrong, as said by a person who misread it.

    The value is always different, and plausible if possible; otherwise the reading is unchanged.
    """
    written = f"{meant.value:f}"
    others = []
    for at, char in enumerate(written):
        for digit in "123456789" if char.isdigit() else "":
            value = Decimal(written[:at] + digit + written[at + 1 :])
            other = Measure(value=value, unit=meant.unit)
            if value != meant.value and QUANTITIES[meant.quantity].plausible(other):
                others.append(value)
    return meant.model_copy(update={"value": random.choice(others)}) if others else meant


def _rounded(value: float, step: str) -> Decimal:
    return Decimal(repr(value)).quantize(Decimal(step), ROUND_HALF_EVEN)


def _plain(value: Decimal) -> Decimal:
    """Removes trailing zeros, which nobody says: 9, not 9.0."""
    return value.quantize(Decimal(1)) if value == value.to_integral_value() else value.normalize()
