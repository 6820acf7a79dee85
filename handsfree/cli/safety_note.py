"""Safety notes printed with the verdict of a check or a measurement."""

from __future__ import annotations

SAFETY_NOTE = (
    "The formula takes a constant speed: a leaf that meets its time and ramps up hard can still "
    "exceed the energy. Local codes, the authority having jurisdiction and licensed practice "
    "come first; this check makes no door safe."
)

MOTION_NOTE = (
    "The largest energy holds for the width and weight given, and for the cycles in this log. "
    "Keep people out of the way of the leaf. Local codes, the authority having jurisdiction and "
    "licensed practice come first; this measurement makes no door safe."
)
