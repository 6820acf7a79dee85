"""The note that every check gives beside its verdict."""

from __future__ import annotations

SAFETY_NOTE = (
    "The formula takes a constant speed: a leaf that meets its time and ramps up hard can still "
    "exceed the energy. Local codes, the authority having jurisdiction and licensed practice "
    "come first; this check makes no door safe."
)
