"""Parses a job file (TOML): the office's knowledge of the opening before the visit."""

from __future__ import annotations

from collections.abc import Callable, Collection
from pathlib import Path

from handsfree.errors import HandsfreeError, JobError
from handsfree.job.handing import contradictions
from handsfree.job.job import LastVisit, Sheet, UnitFamily
from handsfree.job.opening import (
    Activation,
    Leaf,
    Lock,
    Motor,
    Opening,
    Operator,
    Side,
    Swing,
)
from handsfree.job.quantity import SWITCH_RANGE
from handsfree.job_file.features import OPENING_FEATURES, features_in, untold
from handsfree.job_file.leaves import LEAF_KEYS, parse_leaves
from handsfree.job_file.table import Source, Table
from handsfree.language.door_words import clash_words
from handsfree.language.wording import ENGLISH, languages, wording
from handsfree.toml_source import TomlSource, file_bytes, nearest

_KEYS = {
    "job": (
        *("reference", "site", "technician", "units", "limits", "note", "language"),
        *("controller_guide", "procedure", "date", "last_visit"),
    ),
    "opening": (
        *("name", "operator", "held_open_by_sensor", "switch_range", "controller_removed"),
        *OPENING_FEATURES,
    ),
    "leaf": LEAF_KEYS,
    "motor": ("number", "leaf", "hand"),
}
_MANY = ("leaf", "motor")

ReadVisit = Callable[[Path, str], LastVisit]
"""Reads the last visit from its folder; the text is the name of the opening that it must match."""


def load_sheet(
    file: Path, known_limits: Collection[str], read_visit: ReadVisit | None = None
) -> Sheet:
    """Loads a job file; ``known_limits`` are the names of limit sets that are not files.

    The paths of a limits file, a guide, a procedure and the last visit are relative to the job
    file. Without ``read_visit`` the last visit is left out. Raises JobError with the line of the
    first fault.
    """
    try:
        text = file_bytes(file).decode("utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise JobError(
            "the job file cannot be read", file=file, way_out="give a job file (TOML)"
        ) from error
    sheet = parse_sheet(text, file, read_visit)
    return with_whole_paths(sheet, file.parent, known_limits)


def with_whole_paths(sheet: Sheet, folder: Path, known_limits: Collection[str]) -> Sheet:
    """The sheet with full paths for the files that it names, relative to ``folder``."""
    found = {
        key: str(file.resolve())
        for key in ("controller_guide", "procedure")
        if (named := getattr(sheet, key)) and (file := folder / named).is_file()
    }
    if sheet.limits not in known_limits:
        found["limits"] = str((folder / sheet.limits).resolve())
    return sheet.model_copy(update=found)


def parse_sheet(text: str, file: Path | str, read_visit: ReadVisit | None = None) -> Sheet:
    """Parses the text of a job file. ¶ ``file`` is named in errors; ``read_visit`` is as in
    :func:`load_sheet`.

    Raises JobError with the line at the first fault.
    """
    return sheet_of(TomlSource(text, file, JobError), Path(file).parent, read_visit)


def sheet_of(source: Source, beside: Path = Path(), read_visit: ReadVisit | None = None) -> Sheet:
    """Builds the sheet from the tables of a job file; the last visit is relative to ``beside``.

    Raises the source's error at the first fault.
    """
    for name in source.data:
        if name not in _KEYS:
            raise source.fault(
                f"unknown key '{name}'", name, key=name, way_out=nearest(name, _KEYS)
            )
    tables = {name: _tables(source, name) for name in _KEYS}
    job = tables["job"][0]
    opening = tables["opening"][0]
    language = job.word("language", languages(), ENGLISH)
    units = job.word("units", ("us", "metric"), "us")
    family: UnitFamily = "metric" if units == "metric" else "us"
    return Sheet(
        reference=job.text("reference", opening.text("name")),
        site=job.text("site", ""),
        technician=job.text("technician", ""),
        opening=_opening(opening, tables["leaf"], tables["motor"], family, language),
        units=family,
        limits=job.text("limits", "a156.19"),
        note=job.text("note", ""),
        language=language,
        controller_guide=job.text("controller_guide", ""),
        procedure=job.text("procedure", ""),
        date=job.day("date"),
        last_visit=_last_visit(job, opening.text("name"), beside, read_visit),
    )


def _last_visit(
    job: Table, name: str, beside: Path, read_visit: ReadVisit | None
) -> LastVisit | None:
    """The last visit that a job names, read from its folder; None if it names none."""
    folder = job.text("last_visit", "")
    if not folder or read_visit is None:
        return None
    try:
        return read_visit((beside / folder).resolve(), name)
    except HandsfreeError as error:
        raise job.fault(
            f"last_visit: {error.message}",
            "last_visit",
            error.way_out or "name the folder of a visit at this door, or leave it out",
        ) from error


def _tables(source: Source, name: str) -> list[Table]:
    found = source.data.get(name)
    many = name in _MANY
    if found is None and name != "opening":
        return [] if many else [Table(source, name, 0, {}, _KEYS[name])]
    header = f"[[{name}]]" if many else f"[{name}]"
    rows = found if many else [found]
    if not isinstance(rows, list) or not rows or not all(isinstance(row, dict) for row in rows):
        raise source.fault(f"has no {header}", name, key=name, way_out=f"add a line {header}")
    return [Table(source, name, nth, row, _KEYS[name]) for nth, row in enumerate(rows)]


def _opening(
    table: Table,
    leaf_tables: list[Table],
    motor_tables: list[Table],
    units: UnitFamily,
    language: str,
) -> Opening:
    leaves = parse_leaves(leaf_tables, units) or [Leaf(name=Side.LEFT)]
    swing = table.maybe("swing", Swing)
    if swing is None and leaf_tables:
        swing = Swing.SINGLE if len(leaves) == 1 else None
    names = [leaf.name for leaf in leaves]
    for nth, name in enumerate(names):
        if name in names[:nth]:
            raise leaf_tables[nth].fault(
                f"two leaves are named '{name}'", "name", "name one left and the other right"
            )
    if swing not in (None, Swing.SINGLE) and not leaf_tables:
        leaves = [Leaf(name=side) for side in Side]
    wanted = len(leaves) if swing is None else 1 if swing is Swing.SINGLE else 2
    if len(leaves) != min(wanted, 2):
        raise table.fault(
            f"swing '{(swing or 'same way').replace('_', ' ')}' and {len(leaves)} [[leaf]]"
            " contradict each other",
            "swing",
            "a single door has one [[leaf]]; same way and double egress have two",
        )
    opening = Opening(
        name=table.text("name"),
        seen_from=table.text("seen_from", wording(language).say("this_side")),
        swing=swing or (Swing.SINGLE if len(leaves) == 1 else Swing.SAME_WAY),
        leaves=tuple(sorted(leaves, key=lambda leaf: leaf.name)),
        motors=_motors(motor_tables, leaves),
        activation=table.kind("activation", Activation, Activation.PUSH_PLATES),
        operator=table.kind("operator", Operator, Operator.LOW_ENERGY),
        fire_rated=table.flag("fire_rated"),
        sensors=table.flag("sensors"),
        lock=table.kind("lock", Lock, Lock.NONE),
        astragal=table.flag("astragal"),
        power_fail_spring=table.flag("power_fail_spring"),
        vestibule=table.flag("vestibule"),
        held_open_by_sensor=table.flag("held_open_by_sensor"),
        switch_range=table.measure("switch_range", SWITCH_RANGE, units),
        features=features_in(table, "opening"),
        not_known=untold(table, swing_known=swing is not None),
        controller_removed=table.flag("controller_removed"),
    )
    for clash in contradictions(opening):
        motors = clash.of_motors and motor_tables
        where = motor_tables[-1] if motors else leaf_tables[-1] if leaf_tables else table
        why = clash_words(wording(), clash, opening)
        raise where.fault(why, way_out="leave out what is not known for certain")
    return opening


def _motors(tables: list[Table], leaves: list[Leaf]) -> tuple[Motor, ...]:
    """The motors as listed, or one per leaf; the motor of a single leaf is known at once."""
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
                f"motor {motor.number} is on the {motor.leaf} leaf, but there is none", "leaf"
            )
        motors.append(motor if motor.leaf or not only else motor.model_copy(update={"leaf": only}))
    return tuple(sorted(motors, key=lambda motor: motor.number))
