"""The faults that a technician can name: their places, and the steps that prove a repair.

The list and the proofs are common practice, without a published source.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import AfterValidator

from handsfree.job.opening import Opening
from handsfree.job.reading import LEAF_SUBJECT, Subject
from handsfree.job.record import Record

Place = Literal["leaf", "plate", "side", "anywhere"]
"""The place of a fault; 'anywhere' means a leaf if one is named, otherwise the opening."""


class FaultKind(Record):
    """A nameable fault; ``proved_by`` lists the observations that prove its repair."""

    place: Place
    proved_by: tuple[str, ...] = ()


def _kind(place: Place, *proved_by: str) -> FaultKind:
    return FaultKind(place=place, proved_by=proved_by)


FAULT_KINDS: dict[str, FaultKind] = {
    "arm_loose": _kind("leaf", "arm", "condition"),
    "arm_bent": _kind("leaf", "arm", "condition"),
    "pivot_worn": _kind("leaf", "swings_freely"),
    "hinge_loose": _kind("leaf", "hinge_condition", "condition"),
    "hinge_worn": _kind("leaf", "hinge_condition", "condition"),
    "leaf_binds": _kind("leaf", "swings_freely"),
    "leaf_sags": _kind("leaf", "swings_freely"),
    "glass_cracked": _kind("leaf", "leaf_condition", "condition"),
    "edge_damaged": _kind("leaf", "leaf_condition", "condition"),
    "closer_leaks": _kind("leaf"),
    "guide_rail_missing": _kind("leaf", "guards"),
    "guide_rail_loose": _kind("leaf", "guards"),
    "cover_loose": _kind("leaf", "operator_fixings", "condition"),
    "cable_chafed": _kind("leaf", "cables"),
    "cable_loose": _kind("anywhere", "cables"),
    "motor_noisy": _kind("leaf"),
    "lock_sticks": _kind("leaf", "latch_holds", "latches"),
    "latch_worn": _kind("leaf", "latch_holds", "latches"),
    "plate_dead": _kind("plate", "plate_opens"),
    "plate_loose": _kind("plate", "plate_condition", "plate"),
    "plate_sticks": _kind("plate", "plate_opens"),
    "battery_empty": _kind("plate", "plate_opens"),
    "sensor_blind": _kind("anywhere", "sensors_act"),
    "sensor_loose": _kind("anywhere", "sensors_act"),
    "sign_missing": _kind("side", "signs"),
    "sign_unreadable": _kind("side", "signs"),
    "threshold_loose": _kind("anywhere", "floor", "way"),
}
"""Every fault that can be named, by its id (snake case)."""

_SEEN = {
    "arm": {"loose": "arm_loose", "bent": "arm_bent"},
    "hinge_condition": {"loose": "hinge_loose", "worn": "hinge_worn"},
    "leaf_condition": {"cracked": "glass_cracked"},
    "guards": {"missing": "guide_rail_missing", "loose": "guide_rail_loose"},
    "rails": {"missing": "guide_rail_missing", "loose": "guide_rail_loose"},
    "operator_fixings": {"loose": "cover_loose"},
    "cables": {"loose": "cable_loose", "worn": "cable_chafed", "broken": "cable_chafed"},
    "signs": {"missing": "sign_missing"},
    "sensors_clean": {"loose": "sensor_loose", "dead": "sensor_blind"},
    "plate": {"loose": "plate_loose", "dead": "plate_dead"},
    "floor": {"loose": "threshold_loose"},
}


def fault_of_observation(fact: str, state: str | None) -> str | None:
    """The fault of what was seen, such as 'arm' and 'loose'; None where it has no name."""
    if fact == "swings_freely":
        return "leaf_binds"
    return _SEEN.get(fact, {}).get(state or "")


WORKS = ("adjusted", "cleared", "repaired", "replaced", "set", "switched", "put_right", "nothing")
"""The kinds of work on a fault; 'put_right' is work that nobody specified."""

MISTAKEN = "mistaken"
"""The kind of work for a fault that was named by mistake."""

PARTS = (
    *("arm", "pivot", "hinge", "closer", "spring", "motor", "controller", "cover", "plate"),
    *("battery", "cable", "sensor", "guide_rail", "sign", "lock", "latch", "strike", "glass"),
)
"""The parts that can be replaced."""


def _one_of(known: tuple[str, ...], what: str) -> AfterValidator:
    def check(value: str) -> str:
        if value not in known:
            raise ValueError(f"'{value}' is no {what}")
        return value

    return AfterValidator(check)


FaultName = Annotated[str, _one_of(tuple(FAULT_KINDS), "fault that can be named")]
WorkName = Annotated[str, _one_of((*WORKS, MISTAKEN), "work on a fault")]
PartName = Annotated[str, _one_of(PARTS, "part that can be replaced")]


def places(kind: FaultKind, opening: Opening) -> tuple[Subject, ...]:
    """The subjects of an opening that can have a fault of this kind."""
    leaves = tuple(LEAF_SUBJECT[leaf.name] for leaf in opening.leaves)
    match kind.place:
        case "leaf":
            return leaves
        case "plate":
            return (Subject.LEFT_PLATE, Subject.RIGHT_PLATE)
        case "side":
            return (Subject.NEAR_SIDE, Subject.FAR_SIDE, Subject.OPENING)
        case _:
            return (Subject.OPENING, *leaves)
