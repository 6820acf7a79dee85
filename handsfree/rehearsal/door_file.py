"""Loads door files: a door for a rehearsal as TOML. docs/rehearsal.md explains every key.

Every value is checked against the possible range, and a wrong one is reported with its line. A door
that passes these checks moves, opens and ends its cycle.
"""

from __future__ import annotations

import math
from decimal import Decimal
from pathlib import Path

from handsfree.errors import RehearsalError
from handsfree.job.job import Sheet, UnitFamily
from handsfree.job.opening import Action, Activation, Leaf, Lock, Motor, Opening, Side, Swing
from handsfree.job.opening import WeightSource as Source
from handsfree.job.quantity import OPEN_ANGLE, QUANTITIES, Quantity
from handsfree.job.reading import Subject
from handsfree.job.unit import Measure
from handsfree.job_file.table import Table
from handsfree.rehearsal.door_spec import PLATES, DoorSpec, Fault, LeafSpec
from handsfree.rehearsal.faults import KINDS, add_fault, possible, subjects_of
from handsfree.rehearsal.leaf_body import Body
from handsfree.rehearsal.operator import BACKCHECK_DEG, SETTING_NAMES, Operator, SettingName
from handsfree.rehearsal.operator_file import SCALE_BOUNDS, number, operator_of, whole
from handsfree.toml_source import TomlSource, file_bytes, nearest

SHIPPED = Path(__file__).parent / "doors"
REHEARSAL = "REHEARSAL"
"""Prefix of the reference of every rehearsed visit."""

_BODY: dict[str, tuple[float, float, float]] = {
    # key: minimum, maximum, default; SI units as the key says. Common practice, no published
    # source.
    "friction_nm": (0.0, 30.0, 2.0),
    "damping_nm_s": (0.0, 20.0, 0.5),
    "spring_nm": (0.0, 60.0, 8.0),
    "spring_nm_rad": (0.0, 40.0, 4.0),
    "air_pa": (-40.0, 40.0, 0.0),
    "latch_n": (0.0, 120.0, 20.0),
}
_KEYS = {
    "door": (
        *("title", "seen_from", "swing", "lock", "sensors", "astragal", "fire_rated"),
        *("power_fail_spring", "vestibule", "units", "limits", "air_pa"),
        "controller_guide",
    ),
    "controller": ("low", "high", "ramp_s", "scatter", *SCALE_BOUNDS),
    "leaf": (
        *("name", "hinge_side", "action", "width", "height", "weight", "weight_source"),
        *("open_angle", *_BODY, *SETTING_NAMES),
    ),
    "plate": ("side", "height", "distance"),
    "sign": ("side", "height"),
    "fault": ("name", "on"),
}


def shipped_doors() -> tuple[str, ...]:
    """Names of the doors that ship with handsfree."""
    return tuple(sorted(path.stem for path in SHIPPED.glob("*.toml")))


def load_door(name_or_path: str | Path) -> DoorSpec:
    """Loads a door by its shipped name or from a file. Raises RehearsalError with file and line."""
    name = str(name_or_path)
    path = SHIPPED / f"{name}.toml" if name in shipped_doors() else Path(name)
    try:
        text = file_bytes(path).decode("utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise RehearsalError(
            f"'{name}' is neither a shipped door nor a readable file",
            way_out=f"shipped: {', '.join(shipped_doors())}; or name a TOML file",
        ) from error
    return parse_door(text, path)


def parse_door(text: str, file: Path | str) -> DoorSpec:
    """Parses the text of a door file. Raises RehearsalError with the line."""
    source = TomlSource(text, file, RehearsalError)
    for name in source.data:
        if name not in _KEYS:
            raise source.fault(f"unknown table '{name}'", name, way_out=nearest(name, _KEYS))
    (door,) = _tables(source, "door", 1)
    controllers = _tables(source, "controller", 0)
    operator = operator_of(controllers[0]) if controllers else Operator()
    swing = door.kind("swing", Swing)
    tables = _tables(source, "leaf", 1 if swing is Swing.SINGLE else 2)
    units: UnitFamily = "metric" if door.word("units", ("us", "metric"), "us") == "metric" else "us"
    leaves: dict[Side, LeafSpec] = {}
    for table in tables:
        side = table.kind("name", Side)
        if side in leaves:
            raise table.fault(f"two leaves are named '{side}'", "name", "one is left, one right")
        leaves[side] = _leaf(table, units, operator, number(door, "air_pa", -40.0, 40.0, 0.0))
    spec = DoorSpec(
        title=door.text("title"),
        sheet=_sheet(door, swing, leaves, units),
        leaves=dict(sorted(leaves.items())),
        operator=operator,
        swing=swing,
        lock=door.kind("lock", Lock, Lock.NONE),
        plate_height=_places(source, "plate", "height", Quantity.PLATE_HEIGHT, units),
        plate_distance=_places(source, "plate", "distance", Quantity.PLATE_DISTANCE, units),
        sign_height=_places(source, "sign", "height", Quantity.SIGN_HEIGHT, units),
    )
    for table in _tables(source, "fault", 0):
        spec = _faulty(spec, table)
    return spec


def _tables(source: TomlSource, name: str, least: int) -> list[Table]:
    found = source.data.get(name)
    many = name not in ("door", "controller")
    header = f"[[{name}]]" if many else f"[{name}]"
    rows = [] if found is None else found if many else [found]
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        raise source.fault(
            f"'{name}' is not a table", name, way_out=f"begin it with a line {header}"
        )
    if len(rows) < least:
        wanted = f"{least} {header}" if least > 1 else header
        raise source.fault(f"too few {header} tables", name, way_out=f"this door needs {wanted}")
    if name == "leaf" and len(rows) > least:
        raise source.fault(
            "a single door has one [[leaf]]" if least == 1 else "a pair has two [[leaf]]",
            name,
            least,
            way_out="set swing in [door]: single, same way, double egress",
        )
    return [Table(source, name, nth, row, _KEYS[name]) for nth, row in enumerate(rows)]


def _leaf(table: Table, units: UnitFamily, operator: Operator, air_pa: float) -> LeafSpec:
    sizes = {
        key: _size(table, key, quantity, units)
        for key, quantity in (
            ("width", Quantity.LEAF_WIDTH),
            ("height", Quantity.LEAF_HEIGHT),
            ("weight", Quantity.LEAF_WEIGHT),
        )
    }
    usual = {key: value for key, (_, _, value) in _BODY.items()} | {"air_pa": air_pa}
    parts = {
        key: number(table, key, low, high, usual[key]) for key, (low, high, _) in _BODY.items()
    }
    open_deg = number(table, "open_angle", float(OPEN_ANGLE.low), float(OPEN_ANGLE.high), 90.0)
    body = Body(
        width_m=sizes["width"].in_base_unit(),
        height_m=sizes["height"].in_base_unit(),
        mass_kg=sizes["weight"].in_base_unit(),
        open_rad=math.radians(open_deg),
        **parts,
    )
    settings: dict[SettingName, int] = {}
    for name in SETTING_NAMES:
        least, most = BACKCHECK_DEG if name == "backcheck_angle" else (operator.low, operator.high)
        settings[name] = whole(table, name, least, most)
    if settings["backcheck_angle"] >= open_deg:
        raise table.fault("the backcheck begins beyond fully open", "backcheck_angle")
    side = table.kind("name", Side)
    return LeafSpec(
        **sizes,
        weight_source=table.kind("weight_source", Source, Source.LABEL),
        hinge_side=table.kind("hinge_side", Side, side),
        action=table.kind("action", Action, Action.PUSH),
        body=body,
        settings=settings,
    )


def _size(table: Table, key: str, quantity: Quantity, units: UnitFamily) -> Measure:
    measure = table.measure(key, QUANTITIES[quantity], units)
    if measure is None:
        facts = QUANTITIES[quantity]
        raise table.fault(f"'{key}' is missing", way_out=f'add {key} = "{facts.low} {facts.unit}"')
    return measure


def _places(
    source: TomlSource, name: str, key: str, quantity: Quantity, units: UnitFamily
) -> dict[Subject, Measure]:
    """Sizes of plates or signs, by side."""
    subjects = (
        {"left": PLATES[0], "right": PLATES[1]}
        if name == "plate"
        else {"near": Subject.NEAR_SIDE, "far": Subject.FAR_SIDE}
    )
    found: dict[Subject, Measure] = {}
    for table in _tables(source, name, 2):
        subject = subjects[table.word("side", tuple(subjects))]
        found[subject] = _size(table, key, quantity, units)
    missing = [side for side, subject in subjects.items() if subject not in found]
    if missing:
        raise source.fault(f"has no [[{name}]] on the {missing[0]} side", name)
    return found


def _sheet(door: Table, swing: Swing, leaves: dict[Side, LeafSpec], units: UnitFamily) -> Sheet:
    """The job file as the office would write it: without sizes and other facts that the visit has
    to find out.
    """
    title = door.text("title")
    only = next(iter(leaves)) if len(leaves) == 1 else None
    opened = {
        side: Decimal(f"{math.degrees(leaf.body.open_rad):.0f}") for side, leaf in leaves.items()
    }
    return Sheet(
        reference=f"{REHEARSAL} {title}",
        site="a rehearsal: this door is simulated and does not exist",
        technician="rehearsal",
        units=units,
        limits=door.text("limits", "a156.19"),
        controller_guide=door.text("controller_guide", ""),
        note="A rehearsal. Nothing in it was measured on a real door.",
        opening=Opening(
            name=title,
            seen_from=door.text("seen_from"),
            swing=swing,
            leaves=tuple(
                Leaf(name=side, open_angle_deg=None if opened[side] == 90 else opened[side])
                for side in sorted(leaves)
            ),
            motors=tuple(Motor(number=nth, leaf=only) for nth in range(1, len(leaves) + 1)),
            activation=Activation.PUSH_PLATES,
            fire_rated=door.flag("fire_rated"),
            sensors=door.flag("sensors"),
            lock=door.kind("lock", Lock, Lock.NONE),
            astragal=door.flag("astragal"),
            power_fail_spring=door.flag("power_fail_spring"),
            vestibule=door.flag("vestibule"),
        ),
    )


def _faulty(spec: DoorSpec, table: Table) -> DoorSpec:
    name = table.word("name", tuple(KINDS))
    if name not in possible(spec):
        raise table.fault(f"this door cannot have the fault '{name}'", "name")
    subjects = subjects_of(spec, name)
    on = table.word("on", tuple(subjects), subjects[0])
    return add_fault(spec, Fault(name=name, subject=Subject(on)))
