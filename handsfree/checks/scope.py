"""Decides whether the low-energy limits cover a door."""

from __future__ import annotations

from handsfree.job.opening import Activation, Opening, Operator

SCOPE = "kind of door"
"""Rule of the single finding on a door that the low-energy limits do not cover."""


def out_of_scope(opening: Opening) -> str | None:
    """The name of the sentence that says why the limits do not cover a door; None if they do.

    A156.19, its scope: only a knowing act opens a low-energy door, a motion sensor or a
    faster operator makes it one for the full-energy standard (seen). A door that only helps a
    person who pushes is a third kind, with rules of its own (common practice).
    """
    if opening.operator is Operator.POWER_ASSIST:
        return "power_assist"
    if opening.operator is Operator.FULL_ENERGY:
        return "fast_opener"
    return "full_energy" if opening.activation is Activation.MOTION_SENSOR else None
