"""The energy of a moving leaf: physics in SI units, nothing of any standard.

A uniform leaf hinged at one edge has the moment of inertia m·D²/3 (any handbook of
mechanics); one of parts has another (``leaf_parts``). Turning through an angle in a time,
at constant speed, a leaf carries KE = I·ω²/2. A leaf that ramps up hard is faster at its
peak than on average, and its energy goes with the square of that.

The table and the formula of a standard take width and weight, so they take every leaf
for a uniform one. With the real inertia the physics can ask for more time (a heavy lock
stile) or less (a heavy hinge stile): what the standard states stays a requirement, and
the energy is held to its limit beside it, so the stricter of the two rules.
"""

from __future__ import annotations

import math

OPENING_ANGLE_DEG = 80.0
"""The travel that opening times are stated for: closed to backcheck or 80 degrees."""

CLOSING_ANGLE_DEG = 80.0
"""The travel that closing times are stated for: from 90 to 10 degrees."""


def uniform_inertia_kg_m2(mass_kg: float, width_m: float) -> float:
    """Moment of inertia about the hinge edge of a leaf of even areal weight."""
    return mass_kg * width_m**2 / 3


def energy_j(inertia_kg_m2: float, angle_deg: float, time_s: float) -> float:
    """Kinetic energy at the mean speed of turning ``angle_deg`` in ``time_s``."""
    omega_rad_s = math.radians(angle_deg) / time_s
    return inertia_kg_m2 * omega_rad_s**2 / 2


def least_time_s(inertia_kg_m2: float, angle_deg: float, limit_j: float) -> float:
    """The time at which the energy at mean speed equals ``limit_j``."""
    return math.radians(angle_deg) * math.sqrt(inertia_kg_m2 / (2 * limit_j))


def allowed_peak_to_mean(limit_j: float, mean_energy_j: float) -> float:
    """How much faster than on average a leaf may be at its peak; below 1 it is too fast."""
    return math.sqrt(limit_j / mean_energy_j)
