"""One leaf as a body: its inertia, and what resists it at an angle and a speed.

SI units throughout; angles in radians, 0 is shut, and a torque that pushes the leaf
shut is positive. Everything is a rigid body about one hinge line.
"""

from __future__ import annotations

import math

from handsfree.checks.energy import uniform_inertia_kg_m2
from handsfree.job.record import Record

GAUGE_FROM_EDGE_M = 0.025
"""Forces are read so far from the latch edge (BS 7036-4, A156.19 4.4: 1 in, seen)."""
GASKET_RAD = math.radians(4)
_STILL_RAD_S = 0.01
"""Below about this speed dry friction fades, so that a leaf comes to rest."""


class Body(Record):
    """A leaf with its arm, closer and surroundings.

    ``width_m``, ``height_m``, ``mass_kg`` of an even leaf; ``open_rad`` is where its stop is.
    ``friction_nm`` is dry, ``damping_nm_s`` goes with the speed. The closer's spring pushes
    shut with ``spring_nm`` and ``spring_nm_rad`` more for each radian. ``bind_nm`` is dry
    friction on top, within about ``bind_span_rad`` of ``bind_rad``. ``air_pa`` is the pressure
    of wind or stack that pushes the leaf shut (negative: open); it acts on the part of the leaf
    that still closes the opening. ``latch_n`` is what frees the latch, at the gauge.
    """

    width_m: float
    height_m: float
    mass_kg: float
    open_rad: float = math.pi / 2
    friction_nm: float = 2.0
    damping_nm_s: float = 0.5
    spring_nm: float = 8.0
    spring_nm_rad: float = 4.0
    bind_nm: float = 0.0
    bind_rad: float = math.radians(45)
    bind_span_rad: float = math.radians(6)
    air_pa: float = 0.0
    gasket_nm: float = 0.0
    latch_n: float = 20.0

    @property
    def inertia_kg_m2(self) -> float:
        """About the hinge edge: m·D²/3."""
        return uniform_inertia_kg_m2(self.mass_kg, self.width_m)

    @property
    def gauge_m(self) -> float:
        """From the hinge to where a gauge is held."""
        return self.width_m - GAUGE_FROM_EDGE_M

    def spring(self, theta: float) -> float:
        """The closer's torque in N·m."""
        return self.spring_nm + self.spring_nm_rad * theta

    def air(self, theta: float) -> float:
        """The torque of the pressure: over the whole leaf when shut, none across the passage."""
        return self.air_pa * self.height_m * self.width_m**2 / 2 * max(0.0, math.cos(theta))

    def gasket(self, theta: float) -> float:
        """The torque of a gasket or a twisted leaf that springs open; never negative."""
        return self.gasket_nm * max(0.0, 1 - theta / GASKET_RAD) if self.gasket_nm else 0.0

    def dry(self, theta: float) -> float:
        """The torque of dry friction at an angle, in N·m, whichever way the leaf goes."""
        if not self.bind_nm:
            return self.friction_nm
        away = (theta - self.bind_rad) / self.bind_span_rad
        return self.friction_nm + self.bind_nm * math.exp(-away * away)

    def load(self, theta: float, omega: float) -> float:
        """Everything that pushes the leaf shut or holds it back, in N·m."""
        friction = self.dry(theta) * math.tanh(omega / _STILL_RAD_S)
        still = self.spring(theta) + self.air(theta) - self.gasket(theta)
        return still + friction + self.damping_nm_s * omega

    def energy_j(self, omega: float) -> float:
        """Kinetic energy at an angular speed in rad/s."""
        return self.inertia_kg_m2 * omega * omega / 2

    # --- by hand, with the power off, pushed slowly at the gauge's place

    def release_n(self) -> float:
        """What frees the latch and holds the leaf against its closer, in N."""
        return self.latch_n + self.set_in_motion_n()

    def set_in_motion_n(self) -> float:
        """What gets the shut leaf moving, in N."""
        return (self.spring(0.0) + self.air(0.0) + self.dry(0.0)) / self.gauge_m

    def open_fully_n(self) -> float:
        """The greatest force on the way to fully open, in N."""
        steps = 180
        angles = [self.open_rad * nth / steps for nth in range(steps + 1)]
        most = max(self.spring(a) + self.air(a) + self.dry(a) for a in angles)
        return most / self.gauge_m
