"""Limit sets: what a standard asks for, as data files with the source of every value.

A set is a TOML file. The shipped ones lie in the folder beside this module and go by
name ('a156.19'); a company's own file goes by path. A file that begins with
``extends = "a156.19"`` gives only what differs. A wrong file is refused when it is
loaded, with its line and the reason.
"""

from __future__ import annotations

import hashlib
import itertools
import re
import tomllib
from decimal import Decimal
from enum import StrEnum
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import Field, ValidationError, model_validator

from handsfree.errors import LimitsError
from handsfree.job.record import Record
from handsfree.job.unit import Family, Unit, family_of

Bound = Literal["at least", "at most"]
Positive = Annotated[Decimal, Field(gt=0)]
_SHIPPED = Path(__file__).parent / "limits"


class Status(StrEnum):
    """How a value is known."""

    SEEN = "seen"
    MEMORY = "memory"
    DERIVED = "derived"
    COMMON_PRACTICE = "common practice"
    HOUSE_RULE = "house rule"


class Sourced(Record):
    """Where a value comes from: the document, its edition and clause, and how it is known."""

    source: str
    edition: str
    clause: str
    status: Status

    def cite(self) -> str:
        """The source in one line, as it stands on a finding."""
        edition = "" if self.edition == "not noted" else f" ({self.edition})"
        clause = "" if self.clause == "not noted" else f", {self.clause}"
        return f"{self.source}{edition}{clause}: {self.status}"


class Limit(Sourced):
    """One value that a reading is held against."""

    bound: Bound
    value: Positive
    unit: Unit
    recommendation: bool = False


class Limits(Record):
    """The single values of a set. Times in s; forces at 1 in (25 mm) from the latch edge."""

    opening_floor: Limit
    closing_floor: Limit
    latching: Limit
    hold_open: Limit
    hold_open_manual_start: Limit | None = None
    backcheck_angle: Limit | None = None
    energy: Limit
    stall_force: Limit
    release_force: Limit
    set_in_motion_force: Limit
    open_fully_force: Limit
    plate_free_distance: Limit | None = None
    hold_open_per_foot: Limit | None = None


_LIMIT_FAMILY = {
    "opening_floor": Family.TIME,
    "closing_floor": Family.TIME,
    "latching": Family.TIME,
    "hold_open": Family.TIME,
    "hold_open_manual_start": Family.TIME,
    "backcheck_angle": Family.ANGLE,
    "energy": Family.ENERGY,
    "stall_force": Family.FORCE,
    "release_force": Family.FORCE,
    "set_in_motion_force": Family.FORCE,
    "open_fully_force": Family.FORCE,
    "plate_free_distance": Family.LENGTH,
    "hold_open_per_foot": Family.TIME,
}


class TableOne(Sourced):
    """Least travel time in s by leaf width (rows, inches) and leaf weight (columns, pounds)."""

    widths_in: tuple[Positive, ...]
    weights_lb: tuple[Positive, ...]
    seconds: tuple[tuple[Positive, ...], ...]

    @model_validator(mode="after")
    def _grid(self) -> TableOne:
        rows, columns = len(self.widths_in), len(self.weights_lb)
        if len(self.seconds) != rows or any(len(row) != columns for row in self.seconds):
            raise ValueError(f"seconds: expected {rows} rows of {columns} values")
        if not (_rises(self.widths_in) and _rises(self.weights_lb)):
            raise ValueError("widths_in and weights_lb must rise")
        lines = (*self.seconds, *zip(*self.seconds, strict=True))
        if any(a > b for line in lines for a, b in itertools.pairwise(line)):
            raise ValueError("seconds must never fall with a wider or heavier leaf")
        return self

    def cell(self, width_in: Decimal, weight_lb: Decimal) -> Decimal | None:
        """The cell of exactly this size, or None."""
        if width_in not in self.widths_in or weight_lb not in self.weights_lb:
            return None
        return self.seconds[self.widths_in.index(width_in)][self.weights_lb.index(weight_lb)]


class Formula(Sourced):
    """T = D·√W / constant, in s with D in inches and W in pounds, rounded up to a step in s."""

    constant_in_lb: Positive
    round_up_to_s: Positive


class Physics(Sourced):
    """Where no formula is given: the time that the energy limit asks for, rounded up (s)."""

    round_up_to_s: Positive


class TableTwo(Sourced):
    """Seconds from closed to 90 degrees beyond the travel time, by backcheck angle."""

    backcheck_deg: tuple[Positive, ...]
    extra_s: tuple[Positive, ...]

    @model_validator(mode="after")
    def _rows(self) -> TableTwo:
        if len(self.backcheck_deg) != len(self.extra_s) or not self.extra_s:
            raise ValueError("extra_s: expected one value for each backcheck angle")
        if not _rises(tuple(reversed(self.backcheck_deg))):
            raise ValueError("backcheck_deg must fall from row to row")
        return self


class LimitSet(Record):
    """One set of limits in force; ``sha256`` is the hash of the file it came from."""

    name: str
    title: str
    spoken: str
    sha256: str
    extends: str | None = None
    limit: Limits
    table_one: TableOne | None = None
    formula: Formula | None = None
    physics: Physics | None = None
    table_two: TableTwo | None = None

    @model_validator(mode="after")
    def _one_way_to_compute(self) -> LimitSet:
        for key, family in _LIMIT_FAMILY.items():
            value: Limit | None = getattr(self.limit, key)
            if value is not None and family_of(value.unit) is not family:
                raise ValueError(f"limit.{key}.unit: {value.unit} is no {family}")
        if (self.formula is None) is (self.physics is None):
            raise ValueError("expected either [formula] or [physics] for the sizes off the table")
        return self


def shipped_limits() -> tuple[str, ...]:
    """The names of the sets that come with handsfree."""
    return tuple(sorted(path.stem for path in _SHIPPED.glob("*.toml")))


def load_limits(name_or_path: str | Path) -> LimitSet:
    """The limit set of a shipped name, or of a file.

    Raises LimitsError with file, line and reason.
    """
    text_name = str(name_or_path)
    path = _SHIPPED / f"{text_name}.toml" if text_name in shipped_limits() else Path(text_name)
    try:
        text = path.read_bytes()
    except OSError as error:
        raise LimitsError(
            f"no limit set '{text_name}' is shipped and no such file can be read",
            way_out=f"shipped: {', '.join(shipped_limits())}",
        ) from error
    return parse_limits(text, path)


def parse_limits(content: bytes, path: Path) -> LimitSet:
    """The limit set in a file's bytes; ``path`` is only named in errors.

    Raises LimitsError with file, line and reason.
    """
    data = _toml(content, path)
    lines = content.decode().splitlines()
    base_name = data.get("extends")
    if base_name is not None:
        if base_name not in shipped_limits():
            raise LimitsError(
                f"extends = {base_name!r} is no shipped set",
                file=path,
                line=_line_of(lines, ("extends",)),
                way_out=f"shipped: {', '.join(shipped_limits())}",
            )
        base_path = _SHIPPED / f"{base_name}.toml"
        data = _merged(_toml(base_path.read_bytes(), base_path), data)
    try:
        return LimitSet.model_validate(data | {"sha256": hashlib.sha256(content).hexdigest()})
    except ValidationError as error:
        first = error.errors()[0]
        where = tuple(str(part) for part in first["loc"])
        reason = first["msg"].removeprefix("Value error, ")
        named = re.match(r"([\w.]+):", reason)
        key = (*where, *(named[1].split(".") if named else ()))
        raise LimitsError(
            f"{'.'.join(where)}: {reason}" if where else reason,
            file=path,
            line=_line_of(lines, key),
        ) from error


def _toml(content: bytes, path: Path) -> dict[str, Any]:
    try:
        return tomllib.loads(content.decode(), parse_float=Decimal)
    except UnicodeDecodeError as error:
        bad_line = content[: error.start].count(b"\n") + 1
        raise LimitsError("expected UTF-8 text", file=path, line=bad_line) from error
    except tomllib.TOMLDecodeError as error:
        found = re.search(r"^(.*) \(at line (\d+), column \d+\)$", str(error))
        reason, line = (found[1], int(found[2])) if found else (str(error), None)
        raise LimitsError(f"no valid TOML: {reason}", file=path, line=line) from error


def _merged(base: dict[str, Any], own: dict[str, Any]) -> dict[str, Any]:
    """The base with the file's own keys; a single limit is replaced key by key."""
    out = dict(base)
    for key, value in own.items():
        both_tables = isinstance(value, dict) and isinstance(out.get(key), dict)
        out[key] = _merged(out[key], value) if both_tables else value
    return out


def _line_of(lines: list[str], key: tuple[str, ...]) -> int | None:
    """The line of a key, or of the deepest table around it that the file has."""
    best: int | None = None
    table: tuple[str, ...] = ()
    depth = 0
    for number, line in enumerate(lines, start=1):
        if header := re.match(r"\s*\[([\w.\- ]+)\]", line):
            table = tuple(part.strip() for part in header[1].split("."))
            here = table
        elif entry := re.match(r"\s*([\w-]+)\s*=", line):
            here = (*table, entry[1])
        else:
            continue
        if key[: len(here)] == here and len(here) > depth:
            best, depth = number, len(here)
    return best


def _rises(values: tuple[Decimal, ...]) -> bool:
    return all(a < b for a, b in itertools.pairwise(values))
