"""The operator of one leaf: the speed it aims for at each angle, and the torque it applies.

It models no real controller. Its speed control has a proportional and an integral term, knows the
closer's spring from the learn cycle, and has a torque limit.
"""

from __future__ import annotations

import math
from typing import Literal

from handsfree.job.record import Record
from handsfree.rehearsal.leaf_body import Body

Phase = Literal["opening", "closing"]

REACTION_S = 0.04
"""Time constant with which the drive follows a target speed (s)."""
_INTEGRAL_S = 0.25
_CREEP_RAD_S = math.radians(1.5)
_SLEW_S = 0.02
State = tuple[float, float, float, float]
"""Angle, speed, ramped target speed, and integral term in N·m."""


class Drive(Record):
    """The operator's behavior in one cycle. Speeds in rad/s, angles in rad, torques in N·m.

    It opens to ``backcheck_rad`` at ``opening_rad_s``, then to the stop at ``backcheck_rad_s``;
    holds for ``hold_s``; closes at ``closing_rad_s``, and from ``latch_rad`` at ``latching_rad_s``.
    A ramp from rest to full speed takes ``ramp_s``. A ``kick`` above 1 makes a hard ramp: up to
    ``kick_rad`` the leaf is faster by this factor. ``reversed`` turns the motor the wrong way.
    """

    opening_rad_s: float
    backcheck_rad_s: float
    closing_rad_s: float
    latching_rad_s: float
    hold_s: float
    backcheck_rad: float = math.radians(75)
    latch_rad: float = math.radians(12)
    ramp_s: float = 0.3
    kick: float = 1.0
    kick_rad: float = math.radians(30)
    opening_limit_nm: float = 60.0
    closing_limit_nm: float = 30.0
    reversed: bool = False

    def wanted(self, phase: Phase, theta: float) -> float:
        """Target speed at an angle, negative while closing."""
        if phase == "opening":
            if theta >= self.backcheck_rad:
                return self.backcheck_rad_s
            return self.opening_rad_s * (self.kick if theta < self.kick_rad else 1.0)
        return -(self.latching_rad_s if theta <= self.latch_rad else self.closing_rad_s)

    def ramp(self, phase: Phase) -> float:
        """Largest rate of change of the target speed (rad/s²)."""
        top = self.opening_rad_s * self.kick if phase == "opening" else self.closing_rad_s
        return max(top, _CREEP_RAD_S) / self.ramp_s

    def torque(self, body: Body, state: State, change: float) -> tuple[float, float]:
        """Torque of the motor, and the rate of change of its integral term."""
        theta, omega, wanted, integral = state
        gain = body.inertia_kg_m2 / REACTION_S
        missing = wanted - omega
        asked = body.spring(theta) + body.inertia_kg_m2 * change + gain * missing + integral
        given = min(self.opening_limit_nm, max(-self.closing_limit_nm, asked))
        saturated = given != asked and (asked - given) * missing > 0
        return (-given if self.reversed else given), (
            0.0 if saturated else gain / _INTEGRAL_S * missing
        )


def slope(body: Body, drive: Drive, phase: Phase, state: State, contact_nm: float = 0.0) -> State:
    """Time derivative of the state: the equation of motion.

    ``contact_nm`` is the torque of an obstacle toward shut.
    """
    theta, omega, wanted, _ = state
    steepest = drive.ramp(phase)
    change = (drive.wanted(phase, theta) - wanted) / _SLEW_S
    change = min(steepest, max(-steepest, change))
    torque, integral = drive.torque(body, state, change)
    turning = (torque - body.load(theta, omega) - contact_nm) / body.inertia_kg_m2
    return omega, turning, change, integral
