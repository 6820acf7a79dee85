"""The largest kinetic energy of a leaf in each travel, from its largest speed and its inertia.

KE = I·ω²/2 at the instant, so nothing is assumed about how evenly the leaf moves. The relative
uncertainty of the inertia counts once, that of the speed twice (GUM 5.1.6).
"""

from __future__ import annotations

import math
from typing import Literal

from handsfree.job.record import Record
from handsfree.motion.motion_record import CycleMotion

Travel = Literal["opening", "closing"]


class EnergyPeak(Record):
    """The largest energy of a movement (J), its standard uncertainty (J), and the angle at which
    it occurred.

    ``edge_speed_m_s`` is the speed of the latch edge there.
    """

    travel: Travel
    energy_j: float
    uncertainty_j: float
    angle_deg: float
    at_s: float
    edge_speed_m_s: float | None = None


def energy_peaks(
    motion: CycleMotion,
    inertia_kg_m2: float,
    inertia_share: float,
    width_m: float | None = None,
) -> tuple[EnergyPeak, ...]:
    """The peaks of opening and closing; none for a movement without a speed. ¶ ``inertia_share``
    is the relative standard uncertainty of the inertia.
    """
    found = []
    for travel, top in (("opening", motion.opening), ("closing", motion.closing)):
        if top is None:
            continue
        omega = math.radians(top.speed_deg_s)
        energy = inertia_kg_m2 * omega**2 / 2
        share = math.hypot(2 * top.relative_uncertainty, inertia_share)
        found.append(
            EnergyPeak(
                travel="opening" if travel == "opening" else "closing",
                energy_j=energy,
                uncertainty_j=share * energy,
                angle_deg=top.angle_deg,
                at_s=top.at_s,
                edge_speed_m_s=None if width_m is None else omega * width_m,
            )
        )
    return tuple(found)
