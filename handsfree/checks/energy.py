"""The kinetic energy of a moving leaf: physics in SI units, independent of any standard.

A uniform leaf hinged at one edge has the moment of inertia m·D²/3 (any handbook of mechanics); for
a leaf made of parts see ``leaf_inertia``. Turning through an angle in a time, at constant speed, a
leaf carries KE = I·ω²/2. A leaf that accelerates hard is faster at its peak than on average, and
its energy grows with the square of the speed.

The table and the formula of a standard use width and weight, so they treat every leaf as
uniform. With the real inertia, physics can require more time (a heavy lock stile) or less (a
heavy hinge stile). Both are requirements: the time of the standard, and the energy limit with
the real inertia. The stricter one decides.
"""

from __future__ import annotations

import math

OPENING_ANGLE_DEG = 80.0
"""Travel over which opening times are stated (degrees): from closed to backcheck or 80 degrees."""

CLOSING_ANGLE_DEG = 80.0
"""Travel over which closing times are stated (degrees): from 90 to 10 degrees."""


def uniform_inertia_kg_m2(mass_kg: float, width_m: float) -> float:
    """Moment of inertia about the hinge edge of a leaf of even areal weight (kg·m²)."""
    return mass_kg * width_m**2 / 3


def energy_j(inertia_kg_m2: float, angle_deg: float, time_s: float) -> float:
    """Kinetic energy at the mean speed of turning ``angle_deg`` in ``time_s`` (J)."""
    omega_rad_s = math.radians(angle_deg) / time_s
    return inertia_kg_m2 * omega_rad_s**2 / 2


def least_time_s(inertia_kg_m2: float, angle_deg: float, limit_j: float) -> float:
    """The time in which the energy at mean speed equals ``limit_j`` (s)."""
    return math.radians(angle_deg) * math.sqrt(inertia_kg_m2 / (2 * limit_j))


def allowed_peak_to_mean(limit_j: float, mean_energy_j: float) -> float:
    """The ratio of peak to mean speed that the limit allows; below 1 the leaf is too fast."""
    return math.sqrt(limit_j / mean_energy_j)
