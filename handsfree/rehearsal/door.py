"""The simulated door of a rehearsal, to be operated, watched, measured and adjusted.

Deterministic: the same file, seed and order of actions give the same door. Nothing here reaches a
real door.
"""

from __future__ import annotations

import math
from random import Random

from handsfree.job.opening import Side
from handsfree.job.reading import LEAF_SIDE, LEAF_SUBJECT, Subject
from handsfree.rehearsal.cycle import Cycle, Obstacle
from handsfree.rehearsal.door_spec import DoorSpec, Fault
from handsfree.rehearsal.drive import Drive, Phase
from handsfree.rehearsal.leaf_body import Body
from handsfree.rehearsal.leaf_motion import TRACE_EVERY, run_cycle
from handsfree.rehearsal.operator import SettingName

_BOARD_RAD = math.radians(40)


class Door:
    """A door during the visit: its settings and faults change, its spec does not."""

    def __init__(self, spec: DoorSpec, seed: int = 0) -> None:
        self.spec = spec
        self.faults: set[Fault] = set(spec.faults)
        self.settings: dict[Side, dict[SettingName, int]] = {
            side: dict(leaf.settings) for side, leaf in spec.leaves.items()
        }
        self._random = Random(f"door {seed}")

    @property
    def sides(self) -> tuple[Side, ...]:
        """Sides that have a leaf, left first."""
        return tuple(side for side in Side if side in self.spec.leaves)

    def has(self, name: str, subject: Subject | None = None) -> bool:
        """True if the fault is present, on the subject if one is given."""
        return any(fault.name == name and subject in (None, fault.subject) for fault in self.faults)

    def repair(self, name: str, subject: Subject | None = None) -> None:
        """Repairs a fault; does nothing if it is absent."""
        self.faults = {
            fault
            for fault in self.faults
            if fault.name != name or (subject is not None and fault.subject is not subject)
        }

    # --- settings: they act on the channel of a motor, which may drive the other leaf

    def channel(self, side: Side) -> Side:
        """The side whose settings drive this leaf: with swapped motors, the other one."""
        swapped = self.has("motors swapped") and len(self.sides) == 2
        return side.other() if swapped else side

    def setting(self, side: Side, name: SettingName) -> int:
        """Value that the controller shows for a leaf."""
        return self.settings[side][name]

    def set(self, side: Side, name: SettingName, setting: int) -> int:
        """Changes a setting within its scale and returns the new value."""
        self.settings[side][name] = self.spec.operator.in_scale(name, setting)
        return self.settings[side][name]

    # --- motion

    def body(self, side: Side) -> Body:
        """The leaf in its current condition."""
        body, leaf = self.spec.leaves[side].body, LEAF_SUBJECT[side]
        update: dict[str, float] = {}
        if self.has("leaf binds", leaf):
            update["bind_nm"] = 4.0 + 1.2 * body.spring(body.bind_rad)
        if self.has("does not latch", leaf):
            # Operator and closer together cannot press harder than this.
            at = self.settings[self.channel(side)]["closing_force"]
            closing_nm = body.gauge_m * self.spec.operator.value("closing_force", at)
            update["gasket_nm"] = 1.4 * (closing_nm + body.spring(0.0) + body.friction_nm)
        return body.model_copy(update=update) if update else body

    def drive(self, side: Side, *, scatter: bool = True) -> Drive:
        """The operator's behavior in the next cycle of a leaf."""
        spec, leaf = self.spec, LEAF_SUBJECT[side]
        at = self.settings[self.channel(side)]
        operator = spec.operator

        def value(name: SettingName) -> float:
            varied = 1.0
            if scatter and name.endswith(("speed", "setting")):
                # Limited to three standard deviations, because a controller is not random.
                share = operator.scatter * self._random.gauss(0.0, 1.0)
                varied = 1.0 + min(3 * operator.scatter, max(-3 * operator.scatter, share))
            return varied * operator.value(name, at[name])

        body = self.body(side)
        opening = math.radians(value("opening_speed"))
        return Drive(
            opening_rad_s=opening,
            backcheck_rad_s=min(opening, math.radians(value("backcheck_speed"))),
            closing_rad_s=math.radians(value("closing_speed")),
            latching_rad_s=math.radians(value("latching_speed")),
            hold_s=value("hold_open_setting"),
            backcheck_rad=math.radians(at["backcheck_angle"]),
            ramp_s=0.12 if self.has("hard ramp", leaf) else operator.ramp_s,
            kick=_kick(body, opening) if self.has("hard ramp", leaf) else 1.0,
            opening_limit_nm=body.gauge_m * operator.value("opening_force", at["opening_force"]),
            closing_limit_nm=body.gauge_m * operator.value("closing_force", at["closing_force"]),
            reversed=self.has("wrong hand", self.motor_of(side)),
        )

    def motor_of(self, side: Side) -> Subject:
        """The motor on a leaf: motor one on the first leaf, unless they are swapped."""
        first = self.channel(side) is self.sides[0]
        return Subject.MOTOR_ONE if first else Subject.MOTOR_TWO

    def cycle(
        self, side: Side, obstacle: Obstacle | None = None, *, trace_every: int = TRACE_EVERY
    ) -> Cycle:
        """Presses a plate and follows one leaf until it is shut; the trace as in ``run_cycle``."""
        sensor = not self.has("sensor dead")
        body, drive = self.body(side), self.drive(side)
        return run_cycle(body, drive, obstacle=obstacle, sensor=sensor, trace_every=trace_every)

    def truth(self, side: Side) -> Cycle:
        """The leaf's true cycle: no scatter, nothing in the way."""
        return run_cycle(self.body(side), self.drive(side, scatter=False))

    # --- forces at the gauge (N)

    def stall_n(self, side: Side, phase: Phase) -> float:
        """Steady force on a gauge that stops the leaf halfway (N)."""
        body = self.body(side)
        gauge = Obstacle(at_rad=min(0.5 * body.open_rad, _BOARD_RAD), phase=phase)
        return run_cycle(body, self.drive(side, scatter=False), obstacle=gauge).push_n

    def sensor_acts(self, side: Side) -> bool:
        """True if a board in the way stops or reverses the leaf, both opening and closing."""
        phases: tuple[Phase, ...] = ("opening", "closing")
        return all(
            self.cycle(side, Obstacle(at_rad=_BOARD_RAD, phase=phase, seen=True)).by_sensor
            for phase in phases
        )

    def plate_works(self, plate: Subject) -> bool:
        """True if the plate opens the door."""
        return not self.has("plate dead", plate)

    def side_of(self, subject: Subject) -> Side:
        """The leaf of a subject; the first leaf for the whole opening."""
        return LEAF_SIDE.get(subject, self.sides[0])


def _kick(body: Body, opening_rad_s: float) -> float:
    """Speed factor of a hard ramp: its energy exceeds the limit by a third.

    The limit of A156.19 4.5 is 1.69 J (seen); a fast leaf still jumps by a quarter.
    """
    return max(1.25, math.sqrt(1.33 * 1.69 / body.energy_j(opening_rad_s)))
