"""The menu of a controller, from a file that the company writes for its model.

docs/procedures.md explains the file's keys.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

from handsfree.errors import ControllerError, HandsfreeError
from handsfree.job.quantity import QUANTITIES, SETTINGS, Quantity
from handsfree.job.record import Record
from handsfree.language.wording import languages
from handsfree.procedure.prompt_lint import MOST_WORDS_IN_BRIEF, unspeakable
from handsfree.procedure.text_file import read_text
from handsfree.toml_source import TomlSource, nearest

SHIPPED = Path(__file__).parent / "data" / "controllers"
_HEAD = ("title", "language")
_NUMBERS = ("low", "high", "step")
_KEYS = ("say", *_NUMBERS, "save")


class Entry(Record):
    """One setting in the menu of a controller.

    ``say`` names the menu entry, 'menu twelve'. The setting ranges from ``low`` to ``high``, both
    included, in steps of ``step``, on the controller's own scale. ``save`` says how to store a
    changed value; None if it is stored at once.
    """

    say: str
    low: Decimal
    high: Decimal
    step: Decimal
    save: str | None = None


class Controller(Record):
    """A controller's settings; ``name`` is that of its file."""

    name: str
    title: str
    language: str
    sha256: str
    entries: dict[Quantity, Entry]

    def range(self, setting: Quantity) -> tuple[Decimal, Decimal, Decimal] | None:
        """Lowest value, highest value and step of a setting; None if it is not in the menu."""
        entry = self.entries.get(setting)
        return (entry.low, entry.high, entry.step) if entry else None


def shipped_controllers() -> tuple[str, ...]:
    """Names of the controllers that ship with the program: an invented example."""
    return tuple(sorted(path.stem for path in SHIPPED.glob("*.toml")))


def load_controller(name_or_path: str | Path) -> Controller:
    """Loads the shipped controller of that name, or the one in that file.

    Raises ControllerError if there is none, or at the first fault of the file.
    """
    text, path, sha256 = _content(name_or_path)
    return parse_controller(text, path, sha256)


def parse_controller(text: str, file: Path | str, sha256: str) -> Controller:
    """Parses the TOML text of a controller. Raises ControllerError at the first fault."""
    source = TomlSource(text, file, ControllerError)
    for fault in sorted(_faults(source), key=lambda fault: fault.line or 0):
        raise fault
    entries = {Quantity(key): Entry.model_validate(raw) for key, raw in _tables(source)}
    return Controller(
        name=Path(file).stem,
        title=source.data["title"],
        language=source.data["language"],
        sha256=sha256,
        entries=entries,
    )


def controller_faults(name_or_path: str | Path) -> tuple[HandsfreeError, ...]:
    """Lists all faults of a controller's file in the order of its lines.

    Raises ControllerError if there is no such file or it is not TOML.
    """
    text, path, _ = _content(name_or_path)
    found = _faults(TomlSource(text, path, ControllerError))
    return tuple(sorted(found, key=lambda fault: fault.line or 0))


def _content(name_or_path: str | Path) -> tuple[str, Path, str]:
    path = Path(name_or_path)
    if str(name_or_path) in shipped_controllers():
        path = SHIPPED / f"{name_or_path}.toml"
    known = ", ".join(shipped_controllers())
    content, text = read_text(path, ControllerError, f"name a file or one of: {known}")
    return text, path, hashlib.sha256(content).hexdigest()


def _tables(source: TomlSource) -> Iterator[tuple[str, dict[str, Any]]]:
    for key, raw in source.data.items():
        if key in SETTINGS and isinstance(raw, dict):
            yield key, raw


def _faults(source: TomlSource) -> Iterator[HandsfreeError]:
    data = source.data
    strange = [key for key in data if key not in SETTINGS and key not in _HEAD]
    for key in strange:
        if isinstance(data[key], dict):
            yield source.fault(f"unknown setting '{key}'", key, way_out=nearest(key, SETTINGS))
        else:
            yield source.fault(f"unknown key '{key}'", key=key, way_out=nearest(key, _HEAD))
    for key in SETTINGS:
        if key in data and not isinstance(data[key], dict):
            yield source.fault(f"'{key}' is not a table", key=key, way_out=f"begin it with [{key}]")
    # A missing key may be there misspelled.
    for key in () if strange else _HEAD:
        if not isinstance(data.get(key), str):
            yield source.fault(f"'{key}' is missing", key=key, way_out=f'begin with {key} = "..."')
    if not strange and not list(_tables(source)):
        yield source.fault("has no setting", way_out=f"begin one with [{SETTINGS[0]}]")
    language = data.get("language")
    if isinstance(language, str) and language not in languages():
        yield source.fault(
            f"unknown language '{language}'", key="language", way_out=nearest(language, languages())
        )
    if isinstance(title := data.get("title"), str):
        yield from unspeakable(source, "", 0, "title", title)
    for key, raw in _tables(source):
        yield from _entry_faults(source, key, raw)


def _entry_faults(
    source: TomlSource, setting: str, raw: dict[str, Any]
) -> Iterator[HandsfreeError]:
    def fault(reason: str, key: str | None = None, way_out: str | None = None) -> HandsfreeError:
        return source.fault(f"'{setting}' {reason}", setting, 0, key, way_out)

    strange = [key for key in raw if key not in _KEYS]
    for key in strange:
        yield fault(f"has an unknown key '{key}'", key, nearest(key, _KEYS))
    for key in ("say", "save"):
        if isinstance(raw.get(key), str) and raw[key].strip():
            yield from unspeakable(source, setting, 0, key, raw[key], MOST_WORDS_IN_BRIEF)
        elif key in raw or (key == "say" and not strange):
            yield fault(f"has no words in '{key}'", key, f'write {key} = "..."')
    numbers = {key: _number(raw.get(key)) for key in _NUMBERS}
    for key, number in numbers.items():
        if number is None and (key in raw or not strange):
            yield fault(f"has no number '{key}'", key, f"write {key} = with a number")
    low, high, step = numbers.values()
    if low is not None and high is not None:
        yield from _range_faults(source, setting, low, high, step)


def _range_faults(
    source: TomlSource, setting: str, low: Decimal, high: Decimal, step: Decimal | None
) -> Iterator[HandsfreeError]:
    facts = QUANTITIES[Quantity(setting)]
    for key, value in (("low", low), ("high", high)):
        if not facts.low <= value <= facts.high:
            yield source.fault(
                f"'{setting}' has {key} = {value}, outside the range that can be dictated",
                setting, 0, key, f"a setting is from {facts.low} to {facts.high}",
            )  # fmt: skip
    if low >= high:
        yield source.fault(
            f"'{setting}' begins at {low} and ends at {high}",
            setting, 0, "low", "low must be below high",
        )  # fmt: skip
    elif step is not None and (step <= 0 or (high - low) % step):
        yield source.fault(
            f"'{setting}' cannot go from {low} to {high} in steps of {step}",
            setting, 0, "step", "the step must divide the range",
        )  # fmt: skip


def _number(value: object) -> Decimal | None:
    """A finite number as written in the file; None for anything else."""
    if isinstance(value, bool) or not isinstance(value, int | Decimal):
        return None
    number = Decimal(value)
    return number if number.is_finite() else None
