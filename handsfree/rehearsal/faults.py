"""The faults that a rehearsal can hide in a door, and the evidence that a visit found them."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from random import Random

from handsfree.errors import RehearsalError
from handsfree.job.finding import Verdict
from handsfree.job.job import Fact, Job
from handsfree.job.opening import Lock, Side, Swing
from handsfree.job.reading import LEAF_SIDE, LEAF_SUBJECT, Subject
from handsfree.job.record import Record
from handsfree.journal import events as ev
from handsfree.rehearsal.door_spec import PLATES, DoorSpec, Fault
from handsfree.rehearsal.operator import SettingName
from handsfree.toml_source import nearest

Evidence = Callable[[Fault, tuple[ev.Event, ...], Job], bool]


class Kind(Record):
    """A kind of fault: its name, its subject, a short description."""

    name: str
    of: str
    says: str


KINDS: dict[str, Kind] = {
    kind.name: kind
    for kind in (
        Kind(name="motors swapped", of="pair", says="each motor is on the other leaf"),
        Kind(name="wrong hand", of="motor", says="a motor turns the wrong way"),
        Kind(name="leaf binds", of="leaf", says="a leaf binds halfway"),
        Kind(name="latch too quick", of="leaf", says="the last ten degrees take under 1.5 s"),
        Kind(name="hold open too short", of="leaf", says="it stays open for under 5 s"),
        Kind(name="opens too quick", of="leaf", says="a leaf opens with too much energy"),
        Kind(name="pushes too hard", of="leaf", says="a leaf pushes with more than 67 N"),
        Kind(name="hard ramp", of="leaf", says="a leaf jumps open: the peak has too much energy"),
        Kind(name="does not latch", of="locked leaf", says="a gasket keeps a leaf from its latch"),
        Kind(name="sensor dead", of="sensors", says="the sensors see nothing"),
        Kind(name="plate dead", of="plate", says="a plate has no effect"),
    )
}
"""Kinds of fault by name. Their limits are those of A156.19 (docs/limits.md)."""

NEEDS = {
    "pair": "two leaves",
    "motor": "a motor",
    "leaf": "a leaf",
    "locked leaf": "a latch or a strike",
    "sensors": "sensors",
    "plate": "a plate",
}
"""The requirement of each kind of fault, in words."""


def possible(spec: DoorSpec) -> tuple[str, ...]:
    """Names of the faults that this door can have."""
    opening = spec.sheet.opening
    pair = opening.swing is not Swing.SINGLE
    lacks = {
        "pair": not pair,
        "sensors": not opening.sensors,
        "locked leaf": spec.lock == Lock.NONE,
    }
    return tuple(name for name, kind in KINDS.items() if not lacks.get(kind.of, False))


def make_fault(spec: DoorSpec, name: str, random: Random) -> Fault:
    """Makes a fault of a kind on a randomly drawn subject. Raises RehearsalError."""
    if name not in KINDS:
        raise RehearsalError(f"unknown fault '{name}'", way_out=nearest(name, KINDS))
    if name not in possible(spec):
        raise RehearsalError(
            f"this door cannot have the fault '{name}': it needs {NEEDS[KINDS[name].of]}",
            way_out=f"this door can have: {', '.join(possible(spec))}",
        )
    return Fault(name=name, subject=random.choice(subjects_of(spec, name)))


def subjects_of(spec: DoorSpec, name: str) -> tuple[Subject, ...]:
    """Subjects of this door that a kind of fault can affect."""
    leaves = tuple(LEAF_SUBJECT[side] for side in Side if side in spec.leaves)
    motors = (Subject.MOTOR_ONE, Subject.MOTOR_TWO)[: len(leaves)]
    match KINDS[name].of:
        case "leaf" | "locked leaf":
            return leaves
        case "motor":
            return motors[-1:]  # the tool can only challenge the second motor
        case "plate":
            return PLATES
        case _:
            return (Subject.OPENING,)


def add_fault(spec: DoorSpec, fault: Fault) -> DoorSpec:
    """Adds a fault to the door; some faults are only a wrong setting.

    Raises RehearsalError if the controller's scale does not reach far enough.
    """
    spec = spec.model_copy(update={"faults": (*spec.faults, fault)})
    operator = spec.operator
    if fault.name not in _SETTING:
        return spec
    name, value = _SETTING[fault.name](spec, LEAF_SIDE[fault.subject])
    setting = operator.setting_for(name, value, up=name != "hold_open_setting")
    reached = operator.value(name, setting)
    if (reached > value) if name == "hold_open_setting" else (reached < value):
        raise RehearsalError(
            f"the controller of this door has no setting for the fault '{fault.name}'",
            way_out="choose another fault, or a wider scale in the door file",
        )
    leaf = spec.leaves[LEAF_SIDE[fault.subject]]
    leaf = leaf.model_copy(update={"settings": {**leaf.settings, name: setting}})
    return spec.model_copy(update={"leaves": {**spec.leaves, LEAF_SIDE[fault.subject]: leaf}})


def _quick(spec: DoorSpec, side: Side) -> tuple[SettingName, float]:
    """A third more energy than allowed (1.69 J), or backcheck in 2.6 s (never below 3.0 s)."""
    leaf = spec.leaves[side]
    by_energy = math.degrees(math.sqrt(2 * 1.33 * 1.69 / leaf.body.inertia_kg_m2))
    return "opening_speed", min(by_energy, leaf.settings["backcheck_angle"] / 2.6)


def _pushes(spec: DoorSpec, side: Side) -> tuple[SettingName, float]:
    body = spec.leaves[side].body
    return "opening_force", 82.0 + body.spring(math.radians(40)) / body.gauge_m


_SETTING: dict[str, Callable[[DoorSpec, Side], tuple[SettingName, float]]] = {
    "latch too quick": lambda spec, side: ("latching_speed", 9.0),
    "hold open too short": lambda spec, side: ("hold_open_setting", 3.5),
    "opens too quick": _quick,
    "pushes too hard": _pushes,
}


# --- evidence in a visit's journal that a fault was found


def is_found(fault: Fault, events: tuple[ev.Event, ...], job: Job) -> bool:
    """True if a visit's record reports the fault."""
    return _EVIDENCE[fault.name](fault, events, job)


def _not_in_order(*names: str, anywhere: bool = False) -> Evidence:
    def evidence(fault: Fault, events: tuple[ev.Event, ...], job: Job) -> bool:
        return any(
            fact.value == "not_in_order"
            and fact.name in names
            and (anywhere or fact.subject in (fault.subject, Subject.OPENING))
            for fact in _facts(events)
        )

    return evidence


def _failed(*rules: str) -> Evidence:
    def evidence(fault: Fault, events: tuple[ev.Event, ...], job: Job) -> bool:
        judged = (event.body for event in events if isinstance(event.body, ev.Judged))
        return any(
            finding.verdict is Verdict.FAIL
            and finding.subject is fault.subject
            and finding.rule in rules
            for body in judged
            for finding in body.findings
        )

    return evidence


def _either(*ways: Evidence) -> Evidence:
    def evidence(fault: Fault, events: tuple[ev.Event, ...], job: Job) -> bool:
        return any(way(fault, events, job) for way in ways)

    return evidence


def _swapped(fault: Fault, events: tuple[ev.Event, ...], job: Job) -> bool:
    return any(
        fact.name == "leaf" and (fact.subject, fact.value) == (Subject.MOTOR_ONE, "right")
        for fact in _facts(events)
    )


def _challenged(fault: Fault, events: tuple[ev.Event, ...], job: Job) -> bool:
    challenged = any(isinstance(event.body, ev.FactsChallenged) for event in events)
    return challenged or _not_in_order("learn_travel", anywhere=True)(fault, events, job)


def _facts(events: Iterable[ev.Event]) -> list[Fact]:
    return [event.body.fact for event in events if isinstance(event.body, ev.FactAccepted)]


_EVIDENCE: dict[str, Evidence] = {
    "motors swapped": _swapped,
    "wrong hand": _challenged,
    "leaf binds": _not_in_order("swings_freely"),
    "latch too quick": _either(_failed("latching time"), _not_in_order("closing")),
    "hold open too short": _either(
        _failed("hold open time"), _not_in_order("hold_open", "time_to_walk")
    ),
    "opens too quick": _either(_failed("opening time", "opening energy"), _not_in_order("opening")),
    "pushes too hard": _failed("opening force"),
    "hard ramp": _not_in_order("all_cycles", "learn_travel", "opening"),
    "does not latch": _not_in_order("latches", "latch_holds", "learn_travel"),
    "sensor dead": _not_in_order("sensors_act", "sensors_as_found", "sensors_hold"),
    "plate dead": _not_in_order("plate_opens", "plate_is_heard"),
}
