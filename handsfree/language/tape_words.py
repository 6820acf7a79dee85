"""Lengths and angles as read from a tape: 'six and a quarter inches', 'eighty degrees'."""

from __future__ import annotations

from decimal import Decimal

from handsfree.job.leaf_geometry import out_from_frame_m
from handsfree.job.unit import Measure, Unit, convert
from handsfree.language.wording import Wording

_EIGHTHS = 8
_IN_M = 0.0254


def tape(w: Wording, length_m: float, unit: Unit) -> str:
    """A length to the nearest mark of a tape: an eighth of an inch, or a millimeter."""
    if unit not in (Unit.INCH, Unit.FOOT):
        return f"{round(1000 * length_m)} {w.units(Unit.MILLIMETRE)}"
    return w.inches(2 * round(_EIGHTHS * length_m / _IN_M))


def angle(w: Wording, angle_deg: Decimal) -> str:
    """An angle in words: 'ten degrees', 'twelve point five degrees'."""
    return w.plain_measure(angle_deg, Unit.DEGREE)


def angle_out(w: Wording, width: Measure, leaf: str, angle_deg: Decimal) -> str:
    """A sentence with the distance of the latch edge at an angle (0 to 90 degrees)."""
    distance = tape(w, out_from_frame_m(width, float(angle_deg)), width.unit)
    said = w.say("angle_out", angle=angle(w, angle_deg), distance=distance, leaf=leaf)
    return said[:1].upper() + said[1:]


def whole_weight(w: Wording, weight: Measure) -> str:
    """A weight to the pound or kilogram, as a number with its unit."""
    unit = Unit.POUND if weight.unit is Unit.POUND else Unit.KILOGRAM
    return f"{round(convert(weight.value, weight.unit, unit))} {w.units(unit)}"
