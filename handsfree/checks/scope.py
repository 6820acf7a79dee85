"""Decides whether the low-energy limits cover a door."""

from __future__ import annotations

from handsfree.job.opening import Activation, Opening, Operator

SCOPE = "kind of door"
"""Rule of the only finding on a door that the low-energy limits do not cover."""


def out_of_scope(opening: Opening) -> str | None:
    """Name of the sentence that says why the limits do not cover a door; None if they do.

    Scope of A156.19: only a knowing act opens a low-energy door; with a motion sensor or a faster
    operator, the full-energy standard applies (seen). A power-assist door, which only helps a
    person who pushes, is a third kind with its own rules (common practice).
    """
    if opening.operator is Operator.POWER_ASSIST:
        return "power_assist"
    if opening.operator is Operator.FULL_ENERGY:
        return "fast_opener"
    return "full_energy" if opening.activation is Activation.MOTION_SENSOR else None
