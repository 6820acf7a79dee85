"""The [[stage]] and [[step]] tables of a file as records with their places."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple, TypeVar

from pydantic import ValidationError

from handsfree.errors import HandsfreeError, ProcedureError
from handsfree.job.quantity import SETTINGS, Quantity
from handsfree.procedure.step import DANGERS, Stage, Step
from handsfree.toml_source import TomlSource, nearest

R = TypeVar("R", Stage, Step)
_NAMED = {"quantity": tuple(Quantity), "setting": SETTINGS, "danger": DANGERS}


class PlacedStep(NamedTuple):
    """A step and its place in the file."""

    source: TomlSource
    nth: int
    step: Step

    def fault(
        self, reason: str, key: str | None = None, way_out: str | None = None
    ) -> HandsfreeError:
        """Builds an error of this step at the line of one of its keys."""
        return self.source.fault(f"step '{self.step.id}' {reason}", "step", self.nth, key, way_out)

    @property
    def line(self) -> str:
        """File and line in words."""
        return f"{Path(self.source.file).name}, line {self.source.line('step', self.nth, 'id')}"


def stages_of(source: TomlSource, faults: list[HandsfreeError]) -> dict[int, Stage]:
    """The stages of a file by position; invalid tables are reported in ``faults``.

    Raises ProcedureError if the file has no stage at all.
    """
    if set(source.data) <= {"include", "step"}:
        raise source.fault(
            "has no name, title or stage",
            way_out="if this is a part, check the procedure that includes it",
        )
    if not source.data.get("stage"):
        raise source.fault("has no [[stage]]", way_out="each stage begins with a line [[stage]]")
    return _records(source, Stage, "stage", faults)


def steps_of(source: TomlSource, faults: list[HandsfreeError]) -> list[PlacedStep]:
    """The steps of a file; invalid tables are reported in ``faults``."""
    found = _records(source, Step, "step", faults)
    return [PlacedStep(source, nth, step) for nth, step in found.items()]


def tables(source: TomlSource, table: str) -> Iterator[tuple[int, dict[str, Any]]]:
    """The tables of that name with their numbers from 0. Raises ProcedureError."""
    found = source.data.get(table, [])
    if not isinstance(found, list) or not all(isinstance(raw, dict) for raw in found):
        raise source.fault(
            f"'{table}' is not a list", table, 0, table, f"begin each with a line [[{table}]]"
        )
    yield from enumerate(found)


def _records(
    source: TomlSource, kind: type[R], table: str, faults: list[HandsfreeError]
) -> dict[int, R]:
    found: dict[int, R] = {}
    for nth, raw in tables(source, table):
        try:
            found[nth] = _record(source, kind, table, nth, raw)
        except ProcedureError as error:
            faults.append(error)
    return found


def _record(source: TomlSource, kind: type[R], table: str, nth: int, raw: dict[str, Any]) -> R:
    name = f"{table} '{raw['id']}'" if "id" in raw else f"{table} number {nth + 1}"
    for key in raw:
        if key not in kind.model_fields:
            raise source.fault(
                f"{name} has an unknown key '{key}'",
                table, nth, key, nearest(key, kind.model_fields),
            )  # fmt: skip
        if key in _NAMED and raw[key] not in _NAMED[key]:
            raise source.fault(
                f"{name} has an unknown {key} '{raw[key]}'",
                table, nth, key, nearest(raw[key], _NAMED[key]),
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
