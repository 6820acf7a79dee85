"""Reads the controller of a door file; range checks for the numbers of every table."""

from __future__ import annotations

import math
from decimal import Decimal
from typing import Any

from handsfree.job_file.table import Table
from handsfree.rehearsal.operator import LinearScale, Operator

SCALE_BOUNDS: dict[str, tuple[float, float, float, float]] = {
    # key: minimum and maximum gain, minimum and maximum offset
    "opening_speed": (0.1, 6.0, -10.0, 30.0),
    "backcheck_speed": (0.1, 6.0, -10.0, 30.0),
    "closing_speed": (0.1, 6.0, -10.0, 30.0),
    "latching_speed": (0.1, 6.0, -10.0, 30.0),
    "hold_open_setting": (0.1, 10.0, -5.0, 10.0),
    "opening_force": (1.0, 20.0, 0.0, 100.0),
    "closing_force": (1.0, 20.0, 0.0, 100.0),
}


def number(table: Table, key: str, least: float, most: float, usual: float | None = None) -> float:
    """Reads a number within its bounds; ``usual`` is the default. Raises RehearsalError."""
    value: Any = table.values().get(key, usual)
    if value is None:
        raise table.fault(f"'{key}' is missing", way_out=f"add {key} = {least:g} to {most:g}")
    if isinstance(value, bool) or not isinstance(value, int | float | Decimal):
        raise table.fault(
            f"'{key}' is not a number", key, f"write a number from {least:g} to {most:g}"
        )
    if not math.isfinite(value) or not least <= value <= most:
        raise table.fault(
            f"{key} = {value} is out of range", key, f"it can be from {least:g} to {most:g}"
        )
    return float(value)


def whole(table: Table, key: str, least: int, most: int, usual: int | None = None) -> int:
    """Reads a whole number within its bounds. Raises RehearsalError."""
    value = number(table, key, least, most, usual)
    if value != int(value):
        raise table.fault(
            f"{key} = {value} is not a step of the scale", key, "write a whole number"
        )
    return int(value)


def operator_of(table: Table) -> Operator:
    """Reads the controller of a door file; missing keys take their defaults."""
    low = whole(table, "low", 0, 99, 1)
    high = whole(table, "high", 1, 100, 20)
    if high <= low:
        raise table.fault(f"high = {high} is not above low = {low}", "high", "swap them")
    lines = {key: _line(table, key) for key in SCALE_BOUNDS if key in table}
    return Operator(
        low=low,
        high=high,
        ramp_s=number(table, "ramp_s", 0.05, 2.0, 0.3),
        scatter=number(table, "scatter", 0.0, 0.05, 0.01),
        **lines,
    )


def _line(table: Table, key: str) -> LinearScale:
    """Reads ``opening_speed = { gain = 1.6, offset = 4 }``."""
    value = table.values()[key]
    gain_low, gain_high, offset_low, offset_high = SCALE_BOUNDS[key]
    example = f"write {key} = {{ gain = {gain_low:g} to {gain_high:g}, offset = ... }}"
    if not isinstance(value, dict) or set(value) != {"gain", "offset"}:
        raise table.fault(f"'{key}' is not a gain with an offset", key, example)
    bounds = {"gain": (gain_low, gain_high), "offset": (offset_low, offset_high)}
    for name, (least, most) in bounds.items():
        number = value[name]
        if isinstance(number, bool) or not isinstance(number, int | Decimal):
            raise table.fault(f"the {name} of {key} is not a number", key, example)
        if not math.isfinite(number) or not least <= number <= most:
            raise table.fault(
                f"{key}: {name} = {number} is out of range",
                key,
                f"it can be from {least:g} to {most:g}",
            )
    return LinearScale(gain=float(value["gain"]), offset=float(value["offset"]))
