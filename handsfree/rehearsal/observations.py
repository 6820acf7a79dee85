"""The technician's observations: OK or not, and which of several options."""

from __future__ import annotations

from collections.abc import Callable

from handsfree.job.opening import Side, Swing
from handsfree.job.reading import LEAF_SUBJECT, Subject
from handsfree.procedure.step import Step
from handsfree.rehearsal.door import Door

_MOTORS = (Subject.MOTOR_ONE, Subject.MOTOR_TWO)


class Observation:
    """Result of an observation: ``fault`` names the problem and is empty if there is none."""

    def __init__(self, fault: str = "", words: str = "") -> None:
        self.fault = fault
        self.words = words

    @property
    def in_order(self) -> bool:
        """True if nothing is wrong."""
        return not self.fault


FINE = Observation()
_Look = Callable[[Door, Subject], Observation]


def observe(door: Door, step: Step, subject: Subject) -> Observation:
    """Answers an observation step; an invisible fault counts as OK."""
    look = _LOOKS.get(step.fact or "")
    seen = look(door, subject) if look is not None else FINE
    # Nobody reports a jump unless asked about one.
    asked = any(word in step.prompt for word in ("jump", "evenly"))
    return FINE if seen.fault == "hard ramp" and not asked else seen


def choose(door: Door, step: Step, subject: Subject) -> str:
    """Value of the option that is true of the door."""
    spec = door.spec
    leaf = spec.leaves[door.side_of(subject)]
    match step.fact:
        case "swing":
            value = str(spec.swing)
        case "lock":
            value = str(spec.lock)
        case "hinge_side":
            value = str(leaf.hinge_side)
        case "action":
            value = leaf.action
        case "weight_source":
            value = leaf.weight_source
        case "leaf":
            value = str(leaf_of_motor(door, subject))
        case "hand":
            value = str(hand_of_motor(door, subject))
        case "complaint":
            value = complaint(door)
        case _:
            value = step.options[0].value
    return value


def leaf_of_motor(door: Door, motor: Subject) -> Side:
    """The leaf to which a motor's cable leads."""
    side = door.sides[_MOTORS.index(motor)] if len(door.sides) > 1 else door.sides[0]
    return door.channel(side)


def hand_of_motor(door: Door, motor: Subject) -> Side:
    """The hand stamped on a motor: that of its leaf's hinges, unless the motor is a wrong one."""
    side = leaf_of_motor(door, motor)
    leaf = door.spec.leaves[side]
    # A leaf of a double-egress pair is seen from the side that pushes it.
    far = door.spec.swing is Swing.DOUBLE_EGRESS and leaf.action == "pull"
    hand = leaf.hinge_side.other() if far else leaf.hinge_side
    return hand.other() if door.has("wrong hand", motor) else hand


def complaint(door: Door) -> str:
    """The owner's complaint, derived from the fault of the door."""
    for fault, said in (
        ("latch too quick", "slams"),
        ("does not latch", "will_not_latch"),
        ("plate dead", "does_not_open"),
        ("wrong hand", "does_not_open"),
        ("sensor dead", "hits_people"),
        ("hold open too short", "hits_people"),
    ):
        if door.has(fault):
            return said
    return "hits_people"


def _binds(door: Door, subject: Subject) -> Observation:
    if door.has("leaf binds", subject):
        return Observation("leaf binds", "it rubs on the floor half way")
    return FINE


def _travels(door: Door, subject: Subject) -> Observation:
    """True if one leaf, or every leaf, travels fully without a jump at the start."""
    for side in _sides(door, subject):
        cycle = door.cycle(side)
        if cycle.open_s is None:
            fault = "wrong hand" if door.has("wrong hand") else "leaf binds"
            return Observation(fault, "it does not open all the way")
        if cycle.end != "shut":
            return Observation("does not latch", "it stays a hand open")
    return FINE


def _gently(door: Door, subject: Subject) -> Observation:
    travel = _travels(door, subject)
    if not travel.in_order:
        return travel
    if any(door.has("hard ramp", LEAF_SUBJECT[side]) for side in _sides(door, subject)):
        return Observation("hard ramp", "it jumps open at the start")
    return FINE


def _cycles(door: Door, subject: Subject) -> Observation:
    return _gently(door, Subject.OPENING)


def _opens_gently(door: Door, subject: Subject) -> Observation:
    seen = _gently(door, subject)
    quick = any((door.cycle(side).opening_time_s or 9.0) < 2.8 for side in _sides(door, subject))
    return (
        Observation("opens too quick", "it opens far too fast") if seen.in_order and quick else seen
    )


def _closes_gently(door: Door, subject: Subject) -> Observation:
    for side in _sides(door, subject):
        cycle = door.cycle(side)
        if cycle.end != "shut":
            return Observation("does not latch", "it stays a hand open")
        if (cycle.latching_time_s or 9.0) < 1.2:
            return Observation("latch too quick", "it slams at the end")
    return FINE


def _stays_open(door: Door, subject: Subject) -> Observation:
    short = any((door.cycle(side).hold_open_time_s or 0.0) < 4.5 for side in door.sides)
    return Observation("hold open too short", "it closes before I am through") if short else FINE


def _latches(door: Door, subject: Subject) -> Observation:
    held = all(door.cycle(side).end == "shut" for side in _sides(door, subject))
    return FINE if held else Observation("does not latch", "it is not held shut")


def _plate(door: Door, subject: Subject) -> Observation:
    return FINE if door.plate_works(subject) else Observation("plate dead", "nothing moves")


def _sensors(door: Door, subject: Subject) -> Observation:
    acts = all(door.sensor_acts(side) for side in door.sides)
    return FINE if acts else Observation("sensor dead", "it pushed against the board")


def _sensors_hold(door: Door, subject: Subject) -> Observation:
    seen = _sensors(door, subject)
    return seen if seen.in_order else Observation("sensor dead", "it closed on the broom")


def _order(door: Door, subject: Subject) -> Observation:
    swapped = door.has("motors swapped")
    return Observation("motors swapped", "the wrong leaf comes first") if swapped else FINE


def _shown(door: Door, subject: Subject) -> Observation:
    return Observation("shown", "it does what the owner says") if door.faults else FINE


def _sides(door: Door, subject: Subject) -> tuple[Side, ...]:
    return tuple(side for side in door.sides if LEAF_SUBJECT[side] is subject) or door.sides


_LOOKS: dict[str, _Look] = {
    "swings_freely": _binds,
    "learn_travel": _travels,
    "learn_complete": lambda door, subject: _travels(door, Subject.OPENING),
    "all_cycles": _cycles,
    "opening": _opens_gently,
    "closing": _closes_gently,
    "hold_open": _stays_open,
    "latches": _latches,
    "latch_holds": _latches,
    "latch_order": _order,
    "plate_opens": _plate,
    "sensors_act": _sensors,
    "sensors_hold": _sensors_hold,
    "fire_door_closes": _latches,
    "complaint_gone": _shown,
}
