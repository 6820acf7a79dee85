"""Reads a procedure file and names every fault of it with its line, at load.

The file's keys are explained in docs/procedures.md.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator
from pathlib import Path
from string import Formatter
from typing import Any, TypeVar, get_args

from pydantic import ValidationError

from handsfree.errors import HandsfreeError, ProcedureError
from handsfree.job.opening import Action, Lock, Side, Swing, WeightSource
from handsfree.job.quantity import Quantity
from handsfree.procedure.step import Condition, Procedure, Stage, Step
from handsfree.toml_source import TomlSource, nearest

SHIPPED = Path(__file__).parent / "data"

CONDITIONS: tuple[str, ...] = get_args(Condition)
CAUTION_WORDS = ("clear",)
CHOICES = (
    *("left", "right", "both", "push", "pull", "single", "pair", "same_way", "double_egress"),
    *("label", "scale", "estimate", "in_order", "not_in_order", "none", "latch", "strike"),
)
# Facts that change the record of the opening take only the values which it knows.
FACT_VALUES: dict[str, tuple[str, ...]] = {
    "hinge_side": tuple(Side),
    "leaf": tuple(Side),
    "hand": tuple(Side),
    "action": tuple(Action),
    "weight_source": tuple(WeightSource),
    "swing": tuple(Swing),
    "lock": tuple(Lock),
}
R = TypeVar("R", Stage, Step)
_ID = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
_SPOKEN = ("prompt", "brief", "caution", "adjust", "why")
_PUNCTUATION = " ,.?;:'-"


def shipped_procedures() -> tuple[str, ...]:
    """The names of the procedures that come with the program."""
    return tuple(sorted(path.stem for path in SHIPPED.glob("*.toml")))


def load_procedure(name_or_path: str | Path) -> Procedure:
    """The shipped procedure of that name, or the one in that file.

    Raises ProcedureError when there is none, or at the first fault of the file.
    """
    path = Path(name_or_path)
    if str(name_or_path) in shipped_procedures():
        path = SHIPPED / f"{name_or_path}.toml"
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
            way_out=f"name a file or one of: {', '.join(shipped_procedures())}",
        ) from error
    return parse_procedure(text, path, hashlib.sha256(content).hexdigest())


def parse_procedure(text: str, file: Path | str, sha256: str) -> Procedure:
    """The procedure that a TOML text describes. Raises ProcedureError at the first fault."""
    source = TomlSource(text, file, ProcedureError)
    data = source.data
    for key in data:
        if key not in ("name", "title", "stage", "step"):
            raise source.fault(
                f"unknown key '{key}'", key=key, way_out=nearest(key, ("stage", "step"))
            )
    for key in ("name", "title"):
        if not isinstance(data.get(key), str):
            raise source.fault(f"'{key}' is missing", way_out=f'begin the file with {key} = "..."')
    stages = tuple(
        _record(source, Stage, "stage", nth, raw) for nth, raw in _tables(source, "stage")
    )
    steps = tuple(_record(source, Step, "step", nth, raw) for nth, raw in _tables(source, "step"))
    _unique(source, "stage", [stage.id for stage in stages])
    _unique(source, "step", [step.id for step in steps])
    for nth, stage in enumerate(stages):
        _speakable(source, "stage", nth, "title", stage.title)
    for nth, step in enumerate(steps):
        _check(source, nth, step, [stage.id for stage in stages])
    return Procedure(
        name=data["name"], title=data["title"], sha256=sha256, stages=stages, steps=steps
    )


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


def _unique(source: TomlSource, table: str, ids: list[str]) -> None:
    for nth, name in enumerate(ids):
        if name in ids[:nth]:
            raise source.fault(
                f"duplicate id '{name}', first used on line {source.line(table, ids.index(name))}",
                table, nth, "id", f"give each {table} its own id",
            )  # fmt: skip


def _check(source: TomlSource, nth: int, step: Step, stages: list[str]) -> None:
    def fault(reason: str, key: str | None = None, way_out: str | None = None) -> HandsfreeError:
        return source.fault(f"step '{step.id}' {reason}", "step", nth, key, way_out)

    if not _ID.fullmatch(step.id):
        raise fault("has an id that is no plain name", "id", "use small letters, digits and '-'")
    if step.stage not in stages:
        raise fault(f"has an unknown stage '{step.stage}'", "stage", nearest(step.stage, stages))
    for condition in step.applies:
        if condition.removeprefix("not ") not in CONDITIONS:
            raise fault(
                f"has an unknown condition '{condition}'",
                "applies",
                nearest(condition.removeprefix("not "), CONDITIONS),
            )
    for key in _SPOKEN:
        if (text := getattr(step, key)) is not None:
            _placeholders(source, nth, step, key, text)
            _speakable(source, "step", nth, key, text.replace("{subject}", ""))
    if (step.caution is not None or step.waits == "caution") and step.word is None:
        raise fault("has a caution without word", "caution", 'add word = "clear"')
    if step.caution is None and step.waits == "caution":
        raise fault("waits for a caution and has none", "waits", 'add caution = "..."')
    if step.word is not None and step.word not in CAUTION_WORDS:
        raise fault(
            f"has the word '{step.word}', which no caution knows", "word", 'use word = "clear"'
        )
    if step.waits == "reading" and step.quantity is None:
        raise fault("waits for a reading without quantity", "waits", 'add quantity = "..."')
    if step.waits == "choice" and not step.options:
        raise fault("waits for a choice without options", "waits", "add options = [...]")
    if step.waits in ("choice", "observation") and step.fact is None:
        raise fault(f"waits for a {step.waits} without fact", "waits", 'add fact = "..."')
    for option in step.options:
        known = FACT_VALUES.get(step.fact or "", CHOICES)
        if option.value not in known or option.value not in CHOICES:
            raise fault(
                f"has an option '{option.value}', which nobody can say here",
                "options",
                nearest(option.value, [value for value in known if value in CHOICES]),
            )
        _speakable(source, "step", nth, "options", option.say)
    if step.attempts < 1:
        raise fault("has attempts below 1", "attempts", "use a whole number from 1")
    if (step.attempts > 1) != (step.adjust is not None):
        raise fault(
            "needs both attempts above 1 and adjust, or neither",
            "attempts" if step.adjust is None else "adjust",
            "adjust says what to turn before it is measured again",
        )
    if not step.why:
        raise fault("has no 'why'", way_out="say in one sentence what the step is for")


def _placeholders(source: TomlSource, nth: int, step: Step, key: str, text: str) -> None:
    try:
        names = [name for _, name, _, _ in Formatter().parse(text) if name is not None]
    except ValueError as error:
        raise source.fault(
            f"step '{step.id}' has an unmatched brace in {key}", "step", nth, key
        ) from error
    for name in names:
        if name != "subject":
            raise source.fault(
                f"step '{step.id}' has an unknown placeholder '{{{name}}}'",
                "step", nth, key, "the only one is {subject}",
            )  # fmt: skip
    if key in ("prompt", "brief") and step.for_each != "opening" and not names:
        raise source.fault(
            f"step '{step.id}' repeats for each {step.for_each} and its {key} does not say which",
            "step", nth, key, "write {subject} where it belongs",
        )  # fmt: skip


def _speakable(source: TomlSource, table: str, nth: int, key: str, text: str) -> None:
    for letter in text:
        if not (letter.isalpha() or letter in _PUNCTUATION):
            raise source.fault(
                f"'{letter}' in {key} cannot be spoken", table, nth, key, "write it as words"
            )
