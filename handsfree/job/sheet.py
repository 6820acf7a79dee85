"""The job file (TOML): what the office knows of the opening before the visit."""

from __future__ import annotations

from decimal import Decimal
from enum import StrEnum
from pathlib import Path
from typing import Any, TypeVar

from handsfree.errors import BadValue, HandsfreeError, JobError
from handsfree.job.job import Sheet, UnitFamily
from handsfree.job.opening import (
    Action,
    Activation,
    Leaf,
    Lock,
    Motor,
    Opening,
    Side,
    Swing,
    WeightSource,
    hands_contradiction,
)
from handsfree.job.quantity import OPEN_ANGLE, QUANTITIES, Quantity, QuantityFacts
from handsfree.job.unit import Measure, parse_measure
from handsfree.toml_source import TomlSource, nearest

_KEYS = {
    "job": ("reference", "site", "technician", "units", "limits", "note"),
    "opening": (
        *("name", "seen_from", "swing", "activation"),
        *("fire_rated", "sensors", "lock", "astragal"),
    ),
    "leaf": (
        *("name", "hinge_side", "action", "width", "height"),
        *("weight", "weight_source", "backcheck_angle_deg", "open_angle_deg"),
    ),
    "motor": ("number", "leaf", "hand"),
}
_MANY = ("leaf", "motor")

E = TypeVar("E", bound=StrEnum)


def parse_sheet(text: str, file: Path | str) -> Sheet:
    """The sheet that a job file's text describes; ``file`` is named in errors.

    Raises JobError with the line at the first fault.
    """
    source = TomlSource(text, file, JobError)
    for name in source.data:
        if name not in _KEYS:
            raise source.fault(
                f"unknown key '{name}'", name, key=name, way_out=nearest(name, _KEYS)
            )
    tables = {name: _tables(source, name) for name in _KEYS}
    job = tables["job"][0]
    units = job.word("units", ("us", "metric"), "us")
    family: UnitFamily = "metric" if units == "metric" else "us"
    return Sheet(
        reference=job.text("reference"),
        site=job.text("site"),
        technician=job.text("technician"),
        opening=_opening(tables["opening"][0], tables["leaf"], tables["motor"], family),
        units=family,
        limits=job.text("limits", "a156.19"),
        note=job.text("note", ""),
    )


class _Table:
    """One table of the file, which names its own line when a value does not fit."""

    def __init__(self, source: TomlSource, name: str, nth: int, values: dict[str, Any]) -> None:
        self._source, self._name, self._nth, self._values = source, name, nth, values
        for key in values:
            if key not in _KEYS[name]:
                raise self.fault(f"unknown key '{key}' in [{name}]", key, nearest(key, _KEYS[name]))

    def fault(
        self, message: str, key: str | None = None, way_out: str | None = None
    ) -> HandsfreeError:
        return self._source.fault(message, self._name, self._nth, key, way_out)

    def text(self, key: str, default: str | None = None) -> str:
        value = self._values.get(key, default)
        if value is None:
            raise self.fault(f"'{key}' is missing in [{self._name}]", way_out=f'add {key} = "..."')
        if not isinstance(value, str) or (default is None and not value.strip()):
            raise self.fault(f"'{key}' is no text", key, f'write {key} = "..."')
        return value

    def flag(self, key: str) -> bool:
        value = self._values.get(key, False)
        if not isinstance(value, bool):
            raise self.fault(f"'{key}' is neither true nor false", key, f"write {key} = true")
        return value

    def word(self, key: str, known: tuple[str, ...], default: str | None = None) -> str:
        value = self.text(key, default)
        if value not in known:
            raise self.fault(f"unknown {key} '{value}'", key, nearest(value, known))
        return value

    def kind(self, key: str, kind: type[E], default: E | None = None) -> E:
        """One of a list; 'same way' and 'same_way' are the same."""
        known = tuple(member.replace("_", " ") for member in kind)
        value = self._values.get(key)
        if isinstance(value, str) and value in tuple(kind):
            return kind(value)
        spoken = default.replace("_", " ") if default is not None else None
        return kind(self.word(key, known, spoken).replace(" ", "_"))

    def maybe(self, key: str, kind: type[E]) -> E | None:
        """One of a list, or None where the file leaves it open."""
        return self.kind(key, kind) if key in self._values else None

    def measure(self, key: str, facts: QuantityFacts, units: UnitFamily) -> Measure | None:
        """A plausible value with its unit, or None where the file leaves it open."""
        if key not in self._values:
            return None
        unit = facts.default_unit(units)
        value = self._values[key]
        example = f'for example {key} = "{facts.low} {facts.unit}", {facts.plausible_range}'
        if isinstance(value, bool) or not isinstance(value, str | int | Decimal):
            raise self.fault(f"'{key}' is no number with a unit", key, example)
        try:
            measure = parse_measure(str(value), facts.family, unit)
        except BadValue as error:
            raise self.fault(error.message, key, error.way_out or example) from error
        if not facts.plausible(measure):
            raise self.fault(
                f"a {facts.spoken} of {measure} is not plausible",
                key,
                f"{facts.plausible_range}; leave it out if it is not known",
            )
        return measure

    def number(self, default: int) -> int:
        value = self._values.get("number", default)
        if value not in (1, 2) or isinstance(value, bool):
            raise self.fault(f"a motor number of {value}", "number", "use 1 or 2")
        return int(value)


def _tables(source: TomlSource, name: str) -> list[_Table]:
    found = source.data.get(name)
    if found is None and name == "motor":
        return []
    many = name in _MANY
    header = f"[[{name}]]" if many else f"[{name}]"
    rows = found if many else [found]
    if not isinstance(rows, list) or not rows or not all(isinstance(row, dict) for row in rows):
        raise source.fault(f"has no {header}", name, key=name, way_out=f"add a line {header}")
    return [_Table(source, name, nth, row) for nth, row in enumerate(rows)]


def _opening(
    table: _Table, leaf_tables: list[_Table], motor_tables: list[_Table], units: UnitFamily
) -> Opening:
    swing = table.kind("swing", Swing)
    leaves = [_leaf(leaf, units) for leaf in leaf_tables]
    names = [leaf.name for leaf in leaves]
    for nth, name in enumerate(names):
        if name in names[:nth]:
            raise leaf_tables[nth].fault(
                f"two leaves are named '{name}'", "name", "one is left, the other right"
            )
    wanted = 1 if swing is Swing.SINGLE else 2
    if len(leaves) != wanted:
        raise table.fault(
            f"swing '{swing.replace('_', ' ')}' and {len(leaves)} [[leaf]] contradict each other",
            "swing",
            "a single door has one [[leaf]]; same way and double egress have two",
        )
    opening = Opening(
        name=table.text("name"),
        seen_from=table.text("seen_from"),
        swing=swing,
        leaves=tuple(sorted(leaves, key=lambda leaf: leaf.name)),
        motors=_motors(motor_tables, leaves),
        activation=table.kind("activation", Activation, Activation.PUSH_PLATES),
        fire_rated=table.flag("fire_rated"),
        sensors=table.flag("sensors"),
        lock=table.kind("lock", Lock, Lock.NONE),
        astragal=table.flag("astragal"),
    )
    if why := hands_contradiction(opening):
        raise motor_tables[-1].fault(why, way_out="leave out what is not known for certain")
    return opening


def _leaf(table: _Table, units: UnitFamily) -> Leaf:
    backcheck = table.measure("backcheck_angle_deg", QUANTITIES[Quantity.BACKCHECK_ANGLE], units)
    fully_open = table.measure("open_angle_deg", OPEN_ANGLE, units)
    dimensions = {
        name: table.measure(name, QUANTITIES[quantity], units)
        for name, quantity in (
            ("width", Quantity.LEAF_WIDTH),
            ("height", Quantity.LEAF_HEIGHT),
            ("weight", Quantity.LEAF_WEIGHT),
        )
    }
    return Leaf(
        name=table.kind("name", Side),
        hinge_side=table.maybe("hinge_side", Side),
        action=table.maybe("action", Action),
        **dimensions,
        weight_source=table.maybe("weight_source", WeightSource),
        backcheck_angle_deg=backcheck.value if backcheck else None,
        open_angle_deg=fully_open.value if fully_open else None,
    )


def _motors(tables: list[_Table], leaves: list[Leaf]) -> tuple[Motor, ...]:
    """The motors as listed, or one a leaf; the motor of a single leaf needs no tracing."""
    only = leaves[0].name if len(leaves) == 1 else None
    if not tables:
        return tuple(Motor(number=nth, leaf=only) for nth in range(1, len(leaves) + 1))
    if len(tables) > len(leaves):
        raise tables[-1].fault("there are more motors than leaves", way_out="each leaf has one")
    motors: list[Motor] = []
    for nth, table in enumerate(tables, start=1):
        motor = Motor(
            number=table.number(nth), leaf=table.maybe("leaf", Side), hand=table.maybe("hand", Side)
        )
        if motor.number in [other.number for other in motors]:
            raise table.fault(f"two motors have the number {motor.number}", "number", "use 1 and 2")
        if motor.leaf is not None and motor.leaf not in [leaf.name for leaf in leaves]:
            raise table.fault(
                f"motor {motor.number} is on the {motor.leaf} leaf, and there is none", "leaf"
            )
        motors.append(motor if motor.leaf or not only else motor.model_copy(update={"leaf": only}))
    return tuple(sorted(motors, key=lambda motor: motor.number))
