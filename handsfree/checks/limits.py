"""Loads limit sets: the requirements of a standard as data files, each value with its source.

A set is a TOML file. The shipped ones lie next to this module and are loaded by name ('a156.19'); a
company's own file is loaded by path. A file that begins with ``extends = "a156.19"`` states only
the differences, and its reminders are added. A faulty file is refused when it is loaded, with its
line and the reason.
"""

from __future__ import annotations

import hashlib
from functools import cache
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ValidationError

from handsfree.checks.limit_set import (
    Bound,
    Limit,
    Limits,
    LimitSet,
    Reminder,
    Sourced,
    TableOne,
    TableTwo,
)
from handsfree.checks.relaxed_limits import list_looser_values
from handsfree.errors import LimitsError
from handsfree.toml_source import TomlSource, file_bytes

__all__ = [
    "Bound",
    "Limit",
    "LimitSet",
    "Limits",
    "load_limits",
    "parse_limits",
    "shipped_limits",
]
_SOURCED = set(Sourced.model_fields) - {"looser_than"}
_SHIPPED = Path(__file__).parent / "limits"
_NAME_SHOWN = 80  # of a name given by the user, which may be of any length


@cache
def shipped_limits() -> tuple[str, ...]:
    """The names of the sets that come with handsfree."""
    return tuple(sorted(path.stem for path in _SHIPPED.glob("*.toml")))


def load_limits(name_or_path: str | Path) -> LimitSet:
    """Loads the limit set in a file, or a shipped one by name, which is read only once.

    Raises LimitsError with file, line and reason.
    """
    text_name = str(name_or_path)
    if text_name in shipped_limits():
        return _shipped(text_name)
    path = Path(text_name)
    try:
        content = file_bytes(path)
    except OSError as error:
        raise LimitsError(
            f"there is no shipped limit set or readable file '{text_name[:_NAME_SHOWN]}'",
            way_out=f"shipped: {', '.join(shipped_limits())}; or name an existing file",
        ) from error
    return parse_limits(content, path)


@cache
def _shipped(name: str) -> LimitSet:
    path = _SHIPPED / f"{name}.toml"
    return parse_limits(path.read_bytes(), path)


def parse_limits(content: bytes, path: Path) -> LimitSet:
    """Parses a file's bytes into a limit set; ``path`` is only used in errors.

    Raises LimitsError with file, line and reason.
    """
    source = _source(content, path)
    data = source.data
    base_name = data.get("extends")
    base_content = b""
    if base_name is not None:
        if base_name not in shipped_limits():
            raise source.fault(
                f"extends = {base_name!r} is no shipped set",
                key="extends",
                way_out=f"shipped: {', '.join(shipped_limits())}",
            )
        base_path = _SHIPPED / f"{base_name}.toml"
        base_content = base_path.read_bytes()
        if data.get("name") == base_name:
            raise source.fault(
                f"name: '{base_name}' is the set that this one extends",
                key="name",
                way_out="give it a name of its own",
            )
        data = _merged(_source(base_content, base_path).data, _named(data, path, base_name))
    try:
        sha256 = hashlib.sha256(base_content + content).hexdigest()
        own = LimitSet.model_validate(data | {"sha256": sha256})
    except ValidationError as error:
        raise source.refused(error, known=_keys) from error
    return own if base_name is None else list_looser_values(own, load_limits(base_name))


def _named(data: dict[str, Any], path: Path, base_name: str) -> dict[str, Any]:
    """The data with a name of its own: a company's set never has the name of the standard."""
    stem = path.stem if path.stem != base_name else f"{base_name}, changed"
    name = data.get("name", stem)
    names = {"name": name, "title": f"{name}, on top of {base_name}", "spoken": str(name)}
    return names | data


def _keys(where: tuple[str, ...]) -> list[str]:
    """The keys allowed in the table at ``where``."""
    tables: dict[str, type[BaseModel]] = {
        "table_one": TableOne,
        "table_two": TableTwo,
        "reminder": Reminder,
    }
    if len(where) == 1:
        return [key for key in LimitSet.model_fields if key != "sha256"]
    if where[0] == "limit":
        return list(Limits.model_fields if len(where) == 2 else Limit.model_fields)
    return list(tables.get(where[0], Limit).model_fields)


def _source(content: bytes, path: Path) -> TomlSource:
    try:
        return TomlSource(content.decode(), path, LimitsError)
    except UnicodeDecodeError as error:
        bad_line = content[: error.start].count(b"\n") + 1
        raise LimitsError("expected UTF-8 text", file=path, line=bad_line) from error


def _merged(base: dict[str, Any], own: dict[str, Any]) -> dict[str, Any]:
    """Merges a file's keys into the base; a single limit is replaced key by key.

    A value that changes any key but the note does not inherit the base's source, because it is no
    longer the standard's. Lists of tables (reminders) are joined, the file's own first.
    """
    out = dict(base)
    if "status" in base and any(own[key] != base.get(key) for key in own.keys() - {"note"}):
        out = {key: value for key, value in out.items() if key not in _SOURCED}
    for key, value in own.items():
        was = out.get(key)
        if isinstance(value, dict) and isinstance(was, dict):
            out[key] = _merged(was, value)
        elif _tables(value) and isinstance(was, list):
            out[key] = value + was
        else:
            out[key] = value
    return out


def _tables(value: object) -> bool:
    return isinstance(value, list) and bool(value) and isinstance(value[0], dict)
