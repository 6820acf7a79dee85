"""Reads a procedure file and names every fault of it with its line, at load.

The file's keys are explained in docs/procedures.md.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from pathlib import Path
from typing import Any, TypeVar

from pydantic import ValidationError

from handsfree.errors import HandsfreeError, ProcedureError
from handsfree.job.quantity import Quantity
from handsfree.procedure.faults import step_faults, unspeakable
from handsfree.procedure.step import Procedure, Stage, Step
from handsfree.toml_source import TomlSource, nearest
from handsfree.wording import ENGLISH

SHIPPED = Path(__file__).parent / "data"

R = TypeVar("R", Stage, Step)


def shipped_procedures(language: str = ENGLISH) -> tuple[str, ...]:
    """The names of the procedures that come with the program in that language."""
    return tuple(sorted(path.stem for path in (SHIPPED / language).glob("*.toml")))


def load_procedure(name_or_path: str | Path, language: str = ENGLISH) -> Procedure:
    """The shipped procedure of that name and language, or the one in that file.

    Raises ProcedureError when there is none, or at the first fault of the file.
    """
    text, path, sha256 = _content(name_or_path, language)
    return parse_procedure(text, path, sha256)


def parse_procedure(text: str, file: Path | str, sha256: str) -> Procedure:
    """The procedure that a TOML text describes. Raises ProcedureError at the first fault."""
    found = _read(TomlSource(text, file, ProcedureError), sha256)
    if isinstance(found, Procedure):
        return found
    raise found[0]


def faults_of(name_or_path: str | Path, language: str = ENGLISH) -> tuple[HandsfreeError, ...]:
    """Everything that is wrong with a procedure, in the order of its lines; empty when sound.

    A table that is no stage or step at all gives its first fault only. Raises
    ProcedureError when there is no such file, or it is no TOML.
    """
    text, path, sha256 = _content(name_or_path, language)
    found = _read(TomlSource(text, path, ProcedureError), sha256)
    return () if isinstance(found, Procedure) else found


def _content(name_or_path: str | Path, language: str) -> tuple[str, Path, str]:
    """Text, path and hash of a procedure's file."""
    path = Path(name_or_path)
    if str(name_or_path) in shipped_procedures(language):
        path = SHIPPED / language / f"{name_or_path}.toml"
    try:
        content = path.read_bytes()
        text = content.decode("utf-8")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        raise ProcedureError(
            "is no UTF-8 text", file=path, line=line, way_out="save the file as UTF-8"
        ) from error
    except OSError as error:
        raise ProcedureError(
            f"no procedure can be read here: {error.strerror}",
            file=path,
            way_out=f"name a file or one of: {', '.join(shipped_procedures(language))}",
        ) from error
    return text, path, hashlib.sha256(content).hexdigest()


def _read(source: TomlSource, sha256: str) -> Procedure | tuple[HandsfreeError, ...]:
    faults = list(_head_faults(source))
    stages = _records(source, Stage, "stage", faults)
    steps = _records(source, Step, "step", faults)
    faults += _doubles(source, "stage")
    faults += _doubles(source, "step")
    known = [str(raw.get("id")) for _, raw in _tables(source, "stage")]
    for nth, stage in stages.items():
        faults += unspeakable(source, "stage", nth, "title", stage.title)
    for nth, step in steps.items():
        faults += step_faults(source, nth, step, known)
    if faults:
        return tuple(sorted(faults, key=lambda fault: fault.line or 0))
    return Procedure(
        name=source.data["name"],
        title=source.data["title"],
        sha256=sha256,
        stages=tuple(stages.values()),
        steps=tuple(steps.values()),
    )


def _head_faults(source: TomlSource) -> Iterator[HandsfreeError]:
    unknown = [key for key in source.data if key not in ("name", "title", "stage", "step")]
    for key in unknown:
        yield source.fault(f"unknown key '{key}'", key=key, way_out=nearest(key, ("stage", "step")))
    # A key that is missing may be there with a slip of the pen.
    for key in () if unknown else ("name", "title"):
        if not isinstance(source.data.get(key), str):
            yield source.fault(f"'{key}' is missing", way_out=f'begin the file with {key} = "..."')


def _records(
    source: TomlSource, kind: type[R], table: str, faults: list[HandsfreeError]
) -> dict[int, R]:
    """The records of a table by their place in the file; what is none goes to ``faults``."""
    found: dict[int, R] = {}
    for nth, raw in _tables(source, table):
        try:
            found[nth] = _record(source, kind, table, nth, raw)
        except ProcedureError as error:
            faults.append(error)
    return found


def _tables(source: TomlSource, table: str) -> Iterator[tuple[int, dict[str, Any]]]:
    tables = source.data.get(table)
    if not isinstance(tables, list) or not all(isinstance(raw, dict) for raw in tables):
        raise source.fault(
            f"has no [[{table}]]", table, way_out=f"each {table} begins with a line [[{table}]]"
        )
    yield from enumerate(tables)


def _record(source: TomlSource, kind: type[R], table: str, nth: int, raw: dict[str, Any]) -> R:
    name = f"{table} '{raw['id']}'" if "id" in raw else f"{table} number {nth + 1}"
    for key in raw:
        if key not in kind.model_fields:
            raise source.fault(
                f"{name} has an unknown key '{key}'",
                table, nth, key, nearest(key, kind.model_fields),
            )  # fmt: skip
    if "quantity" in raw and raw["quantity"] not in tuple(Quantity):
        raise source.fault(
            f"{name} has an unknown quantity '{raw['quantity']}'",
            table, nth, "quantity", nearest(raw["quantity"], Quantity),
        )  # fmt: skip
    try:
        return kind.model_validate(raw)
    except ValidationError as error:
        first = error.errors()[0]
        key = str(first["loc"][0])
        if first["type"] == "missing" and len(first["loc"]) == 1:
            raise source.fault(
                f"{name} has no '{key}'", table, nth, way_out=f'add {key} = "..."'
            ) from error
        where = ".".join(str(part) for part in first["loc"])
        reason = first["msg"][:1].lower() + first["msg"][1:]
        raise source.fault(f"{name}, {where}: {reason}", table, nth, key) from error


def _doubles(source: TomlSource, table: str) -> Iterator[HandsfreeError]:
    ids = [raw.get("id") for _, raw in _tables(source, table)]
    for nth, name in enumerate(ids):
        if name is not None and name in ids[:nth]:
            yield source.fault(
                f"duplicate id '{name}', first used on line {source.line(table, ids.index(name))}",
                table, nth, "id", f"give each {table} its own id",
            )  # fmt: skip
