"""Parses the leaves of a job file: sizes and, if known, construction.

A leaf made of several pieces lists its parts, each as a [[leaf.part]] after its [[leaf]]. For a
leaf without a label or scale weight, [leaf.construction] may describe its construction.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, TypeVar

from pydantic import TypeAdapter, ValidationError

from handsfree.errors import BadValue
from handsfree.job.feature_values import with_leaf_feature
from handsfree.job.job import UnitFamily
from handsfree.job.leaf_construction import Aluminium, Construction, Glass, HollowMetal, SolidWood
from handsfree.job.leaf_part import Part, parse_areal_weight, parts_contradiction
from handsfree.job.opening import Action, Leaf, Side, WeightSource
from handsfree.job.quantity import OPEN_ANGLE, QUANTITIES, Quantity
from handsfree.job.record import Record
from handsfree.job.unit import Family, Measure, Unit
from handsfree.job_file.features import LEAF_FEATURES, features_in
from handsfree.job_file.table import Table

LEAF_KEYS = (
    *("name", "hinge_side", "action", "width", "height"),
    *("weight", "weight_source", "backcheck_angle_deg", "open_angle_deg"),
    *("part", "construction", *LEAF_FEATURES),
)
_CONSTRUCTION: TypeAdapter[Construction] = TypeAdapter(Construction)
_KINDS: dict[str, type[Record]] = {
    "hollow metal": HollowMetal,
    "solid wood": SolidWood,
    "glass": Glass,
    "aluminium": Aluminium,
}
T = TypeVar("T")
_PLAIN = ("kind", "core", "gauge")


def parse_leaves(tables: Iterable[Table], units: UnitFamily) -> list[Leaf]:
    """Parses the leaves in file order. Raises the file's error with the line at the first fault."""
    leaves = []
    parts = constructions = 0
    for table in tables:
        part_tables = table.tables("leaf.part", parts, tuple(Part.model_fields), many=True)
        keys = tuple(dict.fromkeys(key for kind in _KINDS.values() for key in kind.model_fields))
        made_of = table.tables("leaf.construction", constructions, keys, many=False)
        parts += len(part_tables)
        constructions += len(made_of)
        leaves.append(_leaf(table, part_tables, made_of, units))
    return leaves


def _leaf(
    table: Table, parts: tuple[Table, ...], made_of: tuple[Table, ...], units: UnitFamily
) -> Leaf:
    backcheck = table.measure("backcheck_angle_deg", QUANTITIES[Quantity.BACKCHECK_ANGLE], units)
    fully_open = table.measure("open_angle_deg", OPEN_ANGLE, units)
    leaf = Leaf(
        name=table.kind("name", Side),
        hinge_side=table.maybe("hinge_side", Side),
        action=table.maybe("action", Action),
        width=table.measure("width", QUANTITIES[Quantity.LEAF_WIDTH], units),
        height=table.measure("height", QUANTITIES[Quantity.LEAF_HEIGHT], units),
        weight=table.measure("weight", QUANTITIES[Quantity.LEAF_WEIGHT], units),
        weight_source=table.maybe("weight_source", WeightSource),
        backcheck_angle_deg=backcheck.value if backcheck else None,
        open_angle_deg=fully_open.value if fully_open else None,
        parts=tuple(_part(part, units) for part in parts),
        construction=_construction(made_of[0], units) if made_of else None,
    )
    for name, value in features_in(table, "leaf").items():
        leaf = with_leaf_feature(leaf, name, value)
    if why := parts_contradiction(leaf.parts, leaf.width, leaf.weight):
        raise parts[0].fault(why, way_out="correct the part or the leaf")
    return leaf


def _part(table: Table, units: UnitFamily) -> Part:
    length = Unit.MILLIMETRE if units == "metric" else Unit.INCH
    mass = Unit.KILOGRAM if units == "metric" else Unit.POUND
    values: dict[str, Any] = {"name": table.text("name")}
    for key, family, unit in (
        ("near_edge", Family.LENGTH, length),
        ("width", Family.LENGTH, length),
        ("height", Family.LENGTH, length),
        ("weight", Family.MASS, mass),
    ):
        values[key] = table.size(key, family, unit, f'for example {key} = "4 {unit}"')
    if "areal_weight" in table:
        try:
            values["areal_weight"] = parse_areal_weight(str(table.values()["areal_weight"]))
        except BadValue as error:
            raise table.fault(error.message, "areal_weight", error.way_out) from error
    return _valid(table, TypeAdapter(Part), values)


def _construction(table: Table, units: UnitFamily) -> Construction:
    kind = table.word("kind", tuple(_KINDS))
    length = Unit.MILLIMETRE if units == "metric" else Unit.INCH
    values: dict[str, Any] = {"kind": kind.replace(" ", "_")}
    for key, value in table.values().items():
        if key == "core":
            values[key] = table.text(key).replace(" ", "_")
        elif key in _PLAIN:
            values.setdefault(key, value)
        else:
            values[key] = _size(table, key, length)
    return _valid(table, _CONSTRUCTION, values)


def _size(table: Table, key: str, unit: Unit) -> Measure | None:
    return table.size(key, Family.LENGTH, unit, f'for example {key} = "2 {unit}"')


def _valid(table: Table, adapter: TypeAdapter[T], values: dict[str, Any]) -> T:
    """Validates the values; a fault is reported at its key, or at the table."""
    try:
        return adapter.validate_python(values)
    except ValidationError as error:
        first = error.errors()[0]
        reason = first["msg"].removeprefix("Value error, ")
        named = [str(part) for part in first["loc"] if str(part) in table]
        key = named[0] if named else reason.split(":")[0]
        if first["type"] == "missing":
            reason = f"'{first['loc'][-1]}' is missing"
        elif first["type"] in ("literal_error", "enum"):
            reason = f"'{key}': expected {first['ctx']['expected']}"
        elif first["type"] == "extra_forbidden":
            reason = f"'{first['loc'][-1]}' does not belong to this kind"
        raise table.fault(reason, key if key in table else None) from error
