"""A leaf as a rigid body: its inertia, and the torques on it at an angle and a speed.

SI units throughout. Angles are in radians, with 0 shut, and a torque toward shut is positive.
Everything is a rigid body about one hinge line.
"""

from __future__ import annotations

import math

from handsfree.checks.energy import uniform_inertia_kg_m2
from handsfree.job.record import Record

GAUGE_FROM_EDGE_M = 0.025
"""Distance of the gauge from the latch edge (m) (BS 7036-4, A156.19 4.4: 1 in, seen)."""
GASKET_RAD = math.radians(4)
_STILL_RAD_S = 0.01
"""Speed below which dry friction fades, so that a leaf comes to rest (rad/s)."""


class Body(Record):
    """A leaf with its arm, closer and surroundings.

    ``width_m``, ``height_m`` and ``mass_kg`` describe a uniform leaf; ``open_rad`` is the angle of
    its stop. ``friction_nm`` is dry friction, ``damping_nm_s`` is proportional to speed. The
    closer's spring pushes shut with ``spring_nm``, plus ``spring_nm_rad`` per radian. ``bind_nm``
    is extra dry friction within about ``bind_span_rad`` of ``bind_rad``. ``air_pa`` is the pressure
    of wind or stack effect toward shut (negative: toward open); it acts on the part of the leaf
    that still closes the opening. ``latch_n`` is the force at the gauge that frees the latch.
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
        """Moment of inertia about the hinge edge: m·D²/3 (kg·m²)."""
        return uniform_inertia_kg_m2(self.mass_kg, self.width_m)

    @property
    def gauge_m(self) -> float:
        """Distance from the hinge to the gauge (m)."""
        return self.width_m - GAUGE_FROM_EDGE_M

    def spring(self, theta: float) -> float:
        """Torque of the closer (N·m)."""
        return self.spring_nm + self.spring_nm_rad * theta

    def air(self, theta: float) -> float:
        """Torque of the pressure (N·m): over the whole leaf when shut, zero at 90 degrees."""
        return self.air_pa * self.height_m * self.width_m**2 / 2 * max(0.0, math.cos(theta))

    def gasket(self, theta: float) -> float:
        """Torque of a gasket or a twisted leaf that springs open (N·m); never negative."""
        return self.gasket_nm * max(0.0, 1 - theta / GASKET_RAD) if self.gasket_nm else 0.0

    def dry(self, theta: float) -> float:
        """Torque of dry friction at an angle, in either direction (N·m)."""
        if not self.bind_nm:
            return self.friction_nm
        away = (theta - self.bind_rad) / self.bind_span_rad
        return self.friction_nm + self.bind_nm * math.exp(-away * away)

    def load(self, theta: float, omega: float) -> float:
        """Total torque that pushes the leaf shut or holds it back (N·m)."""
        friction = self.dry(theta) * math.tanh(omega / _STILL_RAD_S)
        still = self.spring(theta) + self.air(theta) - self.gasket(theta)
        return still + friction + self.damping_nm_s * omega

    def energy_j(self, omega: float) -> float:
        """Kinetic energy at an angular speed in rad/s (J)."""
        return self.inertia_kg_m2 * omega * omega / 2

    # --- by hand, with the power off, pushed slowly at the gauge

    def release_n(self) -> float:
        """Force that frees the latch and holds the leaf against its closer (N)."""
        return self.latch_n + self.set_in_motion_n()

    def set_in_motion_n(self) -> float:
        """Force that sets the shut leaf in motion (N)."""
        return (self.spring(0.0) + self.air(0.0) + self.dry(0.0)) / self.gauge_m

    def open_fully_n(self) -> float:
        """Largest force on the way to fully open (N)."""
        steps = 180
        angles = [self.open_rad * nth / steps for nth in range(steps + 1)]
        most = max(self.spring(a) + self.air(a) + self.dry(a) for a in angles)
        return most / self.gauge_m
