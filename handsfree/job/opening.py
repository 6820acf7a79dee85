"""The opening that the technician works on: leaves, motors, plates, swing."""

from __future__ import annotations

from enum import StrEnum

from pydantic import Field, model_validator

from handsfree.job.leaf_construction import Construction
from handsfree.job.leaf_part import Part
from handsfree.job.record import Count, Number, Record
from handsfree.job.unit import Family, Measure, family_of

EIGHTY_DEG = 80
"""Angle at which an opening time ends unless backcheck comes first (degrees)."""


class Side(StrEnum):
    """Left or right, as seen from the side that the job names."""

    LEFT = "left"
    RIGHT = "right"

    def other(self) -> Side:
        """The opposite side."""
        return Side.RIGHT if self is Side.LEFT else Side.LEFT


class Action(StrEnum):
    """The way of opening a leaf by hand from the side that the job names: push or pull."""

    PUSH = "push"
    PULL = "pull"


class Swing(StrEnum):
    """The way the leaves of an opening swing."""

    SINGLE = "single"
    SAME_WAY = "same_way"
    DOUBLE_EGRESS = "double_egress"


class Activation(StrEnum):
    """The device or act that sets the leaf moving. Only a knowing act makes a low-energy door."""

    PUSH_PLATES = "push_plates"
    TOUCHLESS_SWITCH = "touchless_switch"
    KEY_SWITCH = "key_switch"
    CARD_READER = "card_reader"
    KEYPAD = "keypad"
    WIRELESS_TRANSMITTER = "wireless_transmitter"
    MANUAL_START = "manual_start"
    MOTION_SENSOR = "motion_sensor"


class Operator(StrEnum):
    """The way in which an operator moves the leaf: at low energy, fast, or only assisting a
    push.
    """

    LOW_ENERGY = "low_energy"
    FULL_ENERGY = "full_energy"
    POWER_ASSIST = "power_assist"


class WeightSource(StrEnum):
    """The source of a leaf's weight; a label or scale beats an estimate."""

    LABEL = "label"
    SCALE = "scale"
    ESTIMATE = "estimate"


class Lock(StrEnum):
    """The means of holding the leaf shut."""

    NONE = "none"
    LATCH = "latch"
    STRIKE = "strike"
    STRIKE_FAIL_SAFE = "strike_fail_safe"
    STRIKE_FAIL_SECURE = "strike_fail_secure"
    MAGNETIC_LOCK = "magnetic_lock"
    PANIC_HARDWARE = "panic_hardware"
    DELAYED_EGRESS = "delayed_egress"


class Leaf(Record):
    """One leaf. ``name`` is its side, as seen from the side that the job names.

    ``open_angle_deg`` is its fully open angle, 90 degrees if unknown. ``parts`` describes a
    non-uniform leaf, ``construction`` one of unknown weight. ``features`` holds the leaf features
    of door_features.toml that have no field here.
    """

    name: Side
    hinge_side: Side | None = None
    action: Action | None = None
    width: Measure | None = None
    height: Measure | None = None
    weight: Measure | None = None
    weight_source: WeightSource | None = None
    backcheck_angle_deg: Number | None = None
    open_angle_deg: Number | None = None
    parts: tuple[Part, ...] = ()
    construction: Construction | None = None
    features: dict[str, str] = Field(default_factory=dict)

    @model_validator(mode="after")
    def _units_fit(self) -> Leaf:
        sizes = (("width", Family.LENGTH), ("height", Family.LENGTH), ("weight", Family.MASS))
        for key, family in sizes:
            size: Measure | None = getattr(self, key)
            if size is not None and family_of(size.unit) is not family:
                raise ValueError(f"{key}: {size.unit} is no unit of {family}")
        return self

    @property
    def backcheck_after_eighty(self) -> bool:
        """True if backcheck is known to begin past 80 degrees, after the end of the opening
        time.
        """
        return self.backcheck_angle_deg is not None and self.backcheck_angle_deg > EIGHTY_DEG

    def handing(self) -> str | None:
        """The handing code, seen from the key or secure side.

        Hinges left and push is LH, right and push RH; pulling adds R (reverse).
        Guides disagree on the reverse hands, so the code is derived, never stored.
        """
        if self.hinge_side is None or self.action is None:
            return None
        code = "LH" if self.hinge_side is Side.LEFT else "RH"
        return code + "R" if self.action is Action.PULL else code


class Motor(Record):
    """One motor: the controller's output that drives it, its leaf and its hand."""

    number: Count
    leaf: Side | None = None
    hand: Side | None = None


class Opening(Record):
    """One opening with its leaves, left first, and what belongs to them.

    ``power_fail_spring``: a spring closes the leaves when the power fails. ``vestibule``: the
    opening is one of two in a row, with a space between them. ``held_open_by_sensor``: a sensing
    device keeps the leaf open while somebody is present, an exception to the hold-open time.
    ``switch_range``: the distance at which a touchless switch detects a hand.
    ``controller_removed``: the old controller has already been removed and cannot be read.
    ``features`` holds the opening features of door_features.toml that have no field here, and
    'unknown' for those the technician does not know. ``not_known`` names the features not stated
    yet; their fields have the default.
    """

    name: str
    seen_from: str
    swing: Swing
    leaves: tuple[Leaf, ...]
    motors: tuple[Motor, ...]
    activation: Activation = Activation.PUSH_PLATES
    operator: Operator = Operator.LOW_ENERGY
    fire_rated: bool = False
    sensors: bool = False
    lock: Lock = Lock.NONE
    astragal: bool = False
    power_fail_spring: bool = False
    vestibule: bool = False
    held_open_by_sensor: bool = False
    switch_range: Measure | None = None
    features: dict[str, str] = Field(default_factory=dict)
    not_known: tuple[str, ...] = ()
    controller_removed: bool = False

    def leaf(self, name: Side) -> Leaf | None:
        """The leaf with that name, or None."""
        return next((leaf for leaf in self.leaves if leaf.name is name), None)

    def motor(self, number: int) -> Motor | None:
        """The motor with that number, or None."""
        return next((motor for motor in self.motors if motor.number == number), None)

    def with_leaf(self, leaf: Leaf) -> Opening:
        """The same opening with the leaf of that name replaced."""
        leaves = tuple(leaf if old.name is leaf.name else old for old in self.leaves)
        return self.model_copy(update={"leaves": leaves})

    def with_motor(self, motor: Motor) -> Opening:
        """The same opening with the motor of that number replaced."""
        motors = tuple(motor if old.number == motor.number else old for old in self.motors)
        return self.model_copy(update={"motors": motors})
