"""Reads a guide and names every fault of it with its line. docs/controllers.md has the keys."""

from __future__ import annotations

import hashlib
from functools import cache
from pathlib import Path
from typing import Any, TypeVar

from pydantic import ValidationError

from handsfree.controllers.guide import Code, Control, Guide, Learn, Setting, SetUpStep
from handsfree.controllers.guide_checks import (
    code_faults,
    control_faults,
    head_faults,
    learn_faults,
    setting_faults,
    shape_faults,
    step_faults,
)
from handsfree.errors import ControllerError, HandsfreeError
from handsfree.job.record import Record
from handsfree.language.interpreter import Language
from handsfree.language.meaning import GoToEntry
from handsfree.language.wording import ENGLISH, languages
from handsfree.procedure.controller import Entry
from handsfree.procedure.text_file import read_text
from handsfree.toml_source import TomlSource, nearest

SHIPPED = Path(__file__).parent / "data"
CONTROLS = ("switch", "dial", "button")
R = TypeVar("R", bound=Record)


@cache
def shipped_guides(language: str = ENGLISH) -> tuple[str, ...]:
    """The names of the shipped guides in that language. All of them are invented examples."""
    return tuple(sorted(path.stem for path in (SHIPPED / language).glob("*.toml")))


def load_guide(name_or_path: str | Path, language: str | None = ENGLISH) -> Guide:
    """Loads the shipped guide of that name and language, or the one in a file.

    A shipped one is read once for the whole program. A guide may lack values for some kinds of
    door: a visit with such a door says so before it begins. Raises ControllerError if the guide
    does not exist, at the first other fault of the file, or if its language is not that of the
    visit; None accepts any language.
    """
    if str(name_or_path) in shipped_guides(language or ENGLISH):
        return _shipped(str(name_or_path), language or ENGLISH)
    source, sha256 = _source(name_or_path, language or ENGLISH)
    found = _read(source, sha256, complete=False)
    if not isinstance(found, Guide):
        raise found[0]
    if language is not None and found.language != language:
        raise source.fault(
            f"is written in '{found.language}', and the visit is in '{language}'",
            key="language",
            way_out="copy the file, and translate what is spoken",
        )
    return found


@cache
def _shipped(name: str, language: str) -> Guide:
    found = _read(*_source(name, language), complete=False)
    if isinstance(found, Guide):
        return found
    raise found[0]


def guide_faults(name_or_path: str | Path, language: str = ENGLISH) -> tuple[HandsfreeError, ...]:
    """Every fault of a guide, in the order of its lines; empty if it has none.

    Raises ControllerError if there is no such file or it is not TOML.
    """
    found = _read(*_source(name_or_path, language))
    return () if isinstance(found, Guide) else found


def parse_guide(text: str, file: Path | str) -> Guide:
    """Parses a TOML text into a guide. Raises ControllerError at its first fault."""
    found = _read(TomlSource(text, file, ControllerError), _sha256(text.encode()))
    if isinstance(found, Guide):
        return found
    raise found[0]


def _source(name_or_path: str | Path, language: str) -> tuple[TomlSource, str]:
    path = Path(name_or_path)
    known = shipped_guides(language)
    if str(name_or_path) in known:
        path = SHIPPED / language / f"{name_or_path}.toml"
    content, text = read_text(path, ControllerError, f"name a file or one of: {', '.join(known)}")
    return TomlSource(text, path, ControllerError), _sha256(content)


def _sha256(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def _read(
    source: TomlSource, sha256: str, *, complete: bool = True
) -> Guide | tuple[HandsfreeError, ...]:
    """The guide, or its faults; a ``complete`` one has a value for every kind of door."""
    faults = list(head_faults(source))
    language = source.data.get("language")
    spoken = Language.load(language=language) if language in languages() else None
    steps = [_placed(step, spoken) for step in _records(source, "set_up", SetUpStep, faults)]
    settings = [_placed(one, spoken) for one in _records(source, "setting", Setting, faults)]
    codes = _records(source, "code", Code, faults)
    controls = [one for table in CONTROLS for one in _records(source, table, Control, faults)]
    learn = _learn(source, faults)
    if not faults and learn is not None:
        for nth, step in enumerate(steps):
            faults += step_faults(source, nth, step, complete=complete)
        for nth, setting in enumerate(settings):
            faults += setting_faults(source, nth, setting)
        for nth, code in enumerate(codes):
            faults += code_faults(source, nth, code)
        for table in CONTROLS:
            for nth, one in enumerate(_records(source, table, Control, [])):
                faults += control_faults(source, table, nth, one)
        faults += learn_faults(source, learn)
        guide = Guide(
            name=Path(source.file).stem,
            title=source.data["title"],
            language=source.data["language"],
            sha256=sha256,
            entries={
                each.quantity: Entry(
                    say=each.called, low=each.low, high=each.high, step=each.step, save=each.save
                )
                for each in settings
                if each.quantity is not None
            },
            set_up=tuple(steps),
            learn=learn,
            settings=tuple(settings),
            codes=tuple(codes),
            controls=tuple(controls),
        )
        faults += shape_faults(source, guide)
        if not faults:
            return guide
    return tuple(sorted(faults, key=lambda fault: fault.line or 0))


P = TypeVar("P", SetUpStep, Setting)


def _placed(step: P, spoken: Language | None) -> P:
    """The step or setting, with its place as used by 'go to' if that can be spoken."""
    if step.called is None or spoken is None:
        return step
    go_to = spoken.wording.say("guide_go_to", called=step.called)
    match spoken.parse(go_to):
        case GoToEntry(control=noun, value=value):
            return step.model_copy(update={"place": (noun, value)})
    return step


def _records(
    source: TomlSource, table: str, kind: type[R], faults: list[HandsfreeError]
) -> list[R]:
    found = source.data.get(table, [])
    if not isinstance(found, list) or not all(isinstance(raw, dict) for raw in found):
        way_out = f"begin each with a line [[{table}]]"
        faults.append(source.fault(f"'{table}' is not a list of tables", table, 0, table, way_out))
        return []
    if not found and table == "set_up":
        faults.append(source.fault("has no [[set_up]]", way_out="each step begins with [[set_up]]"))
    records: list[R] = []
    for nth, raw in enumerate(found):
        try:
            records.append(_record(source, table, kind, nth, raw))
        except ControllerError as error:
            faults.append(error)
    return records


def _record(source: TomlSource, table: str, kind: type[R], nth: int, raw: dict[str, Any]) -> R:
    name = f"{table} '{raw['id']}'" if "id" in raw else f"{table} number {nth + 1}"
    known = [key for key in kind.model_fields if key != "place"]
    for key in raw:
        if key not in known:
            way_out = nearest(key, known)
            raise source.fault(f"{name} has an unknown key '{key}'", table, nth, key, way_out)
    return _validated(source, table, kind, nth, raw, name)


def _validated(
    source: TomlSource, table: str, kind: type[R], nth: int, raw: dict[str, Any], name: str
) -> R:
    try:
        return kind.model_validate(raw)
    except ValidationError as error:
        first = error.errors()[0]
        key = str(first["loc"][0])
        if first["type"] == "missing" and len(first["loc"]) == 1:
            way_out = f"add {key} = ..."
            raise source.fault(f"{name} has no '{key}'", table, nth, way_out=way_out) from error
        where = ".".join(str(part) for part in first["loc"])
        reason = first["msg"][:1].lower() + first["msg"][1:]
        raise source.fault(f"{name}, {where}: {reason}", table, nth, key) from error


def _learn(source: TomlSource, faults: list[HandsfreeError]) -> Learn | None:
    raw = source.data.get("learn")
    if not isinstance(raw, dict):
        if not faults:  # the key may be present but misspelled
            faults.append(
                source.fault("has no [learn]", "learn", way_out="begin it with a line [learn]")
            )
        return None
    try:
        return _record(source, "learn", Learn, 0, raw)
    except ControllerError as error:
        faults.append(error)
        return None
