"""Writes a job sheet as a commented job file (TOML)."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from decimal import Decimal
from enum import StrEnum
from typing import NamedTuple

from handsfree.job.door_feature import ANSWERS, FEATURES, UNKNOWN
from handsfree.job.feature_values import DEVICES, opening_feature
from handsfree.job.job import Sheet
from handsfree.job.opening import Leaf, Opening, Operator
from handsfree.job.record import Record
from handsfree.job.unit import Measure
from handsfree.job_file.features import LEAF_FEATURES, OPENING_FEATURES

_HEAD = (
    "What is known of the door before the visit. A line that begins with # is not read.",
    "Only the name of the opening is needed: the visit asks for what it needs besides.",
)
_PROCEDURES = "'handsfree procedures' lists them; without it the visit asks"
_GUIDES = "how its controller is set up: docs/controllers.md"
_LAST = "its values are asked in one question"
_LEAF_EXAMPLES: dict[str, object] = {
    "hinge_side": "left",
    "action": "pull",
    "width": "36 in",
    "height": "84 in",
    "weight": "150 lb",
    "weight_source": "label",
    "backcheck_angle_deg": 80,
    "open_angle_deg": 90,
}
_COLUMN, _WIDTH = 32, 101  # column where the comment after a key begins; longest line (characters)


def job_text(sheet: Sheet, came_from: str = "", last_visit: str = "") -> str:
    """Writes the text of a job file; reading it gives the same sheet.

    A feature that the technician did not know is left out, so that the visit asks again.
    ``came_from`` states the origin of the values in the first line. ``last_visit`` is the folder of
    the last visit, relative to the file, or ''.
    """
    head = [came_from] if came_from else []
    comments = "".join(f"# {_plain(line)}\n" for line in (*head, *_HEAD))
    tables = (_job(sheet, last_visit), _opening(sheet.opening), *_leaves(sheet.opening))
    return "\n".join((comments, *(_lines(table) for table in tables)))


def toml_text(text: str) -> str:
    """A text as a double-quoted TOML string, with control characters escaped."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


class Line(NamedTuple):
    """A line of a table: a key, its value, and a comment on the possible values.

    ``known`` is False for an example, which is commented out.
    """

    key: str
    value: object
    about: str = ""
    known: bool = True


class Table(NamedTuple):
    """A table with its header."""

    header: str
    lines: tuple[Line, ...]


class _Bare(str):
    """A value written without quotes, such as a day."""

    __slots__ = ()


def _job(sheet: Sheet, last_visit: str) -> Table:
    lines = (
        _told("reference", sheet.reference, "HH-0001", "the number of the work order"),
        _told("site", sheet.site, "Harbour Hall"),
        _told("technician", sheet.technician, "your name"),
        _told("date", _Bare(sheet.date), _Bare("2026-12-01"), "the day of the visit"),
        _told("procedure", sheet.procedure, "yearly-service", _PROCEDURES),
        _told("controller_guide", sheet.controller_guide, "my-guide.toml", _GUIDES),
        Line("language", sheet.language, "en: English; es: Spanish"),
        Line("units", sheet.units, "us: inches, pounds; metric: millimetres, kilograms"),
        Line("limits", sheet.limits),
        _told("last_visit", last_visit, "visits/hh-0000-20251201-091500", _LAST),
        _told("note", sheet.note, "Ask for the key at the desk."),
    )
    return Table("[job]", lines)


def _opening(opening: Opening) -> Table:
    lines = [Line("name", opening.name)]
    for key in OPENING_FEATURES:
        if key not in DEVICES or "activation" in opening.not_known or key in opening.features:
            lines.append(_feature(opening, key))
    if opening.operator is not Operator.LOW_ENERGY:
        lines.append(Line("operator", _spaced(opening.operator), _listed(Operator)))
    for key in ("held_open_by_sensor", "controller_removed"):
        if getattr(opening, key):
            lines.append(Line(key, True))
    if opening.switch_range is not None:
        lines.append(Line("switch_range", opening.switch_range))
    return Table("[opening]", tuple(lines))


def _feature(opening: Opening, key: str) -> Line:
    feature, known = FEATURES[key], opening_feature(opening, key)
    told = known not in (None, UNKNOWN)
    if feature.yes_or_no:
        return Line(key, known != "no", "true, false", told)
    if key == "seen_from":
        return Line(key, known or "inside", "left and right are as seen from here", told)
    value = str(known) if told else feature.values[0]
    return Line(key, _spaced(value), _listed(feature.values), told)


def _leaves(opening: Opening) -> Iterator[Table]:
    """The tables of leaves and motors; no leaves if even their number is unknown."""
    counted = "swing" not in opening.not_known or len(opening.leaves) > 1
    for leaf in opening.leaves if counted else ():
        yield _leaf(leaf)
        for part in leaf.parts:
            yield Table("[[leaf.part]]", _fields(part))
        if leaf.construction is not None and leaf.features.get("leaf_construction") not in ANSWERS:
            yield Table("[leaf.construction]", _fields(leaf.construction))
    for motor in opening.motors:
        if counted or motor.hand is not None:
            yield Table("[[motor]]", _fields(motor))


def _leaf(leaf: Leaf) -> Table:
    lines = [Line("name", leaf.name)]
    for key, example in _LEAF_EXAMPLES.items():
        value = getattr(leaf, key)
        lines.append(Line(key, example if value is None else value, "", value is not None))
    for key in LEAF_FEATURES:
        known = leaf.features.get(key)
        if known not in (None, UNKNOWN):
            lines.append(Line(key, _spaced(str(known)), _listed(FEATURES[key].values)))
    return Table("[[leaf]]", tuple(lines))


def _fields(record: Record) -> tuple[Line, ...]:
    """The fields of a record that have a value."""
    values = {key: getattr(record, key) for key in type(record).model_fields}
    if "kind" in values:
        values["kind"] = _spaced(values["kind"])
    return tuple(Line(key, value) for key, value in values.items() if value is not None)


def _told(key: str, value: str, example: str, about: str = "") -> Line:
    return Line(key, value or example, about, bool(value))


def _lines(table: Table) -> str:
    return "".join((f"{table.header}\n", *map(_line, table.lines)))


def _line(line: Line) -> str:
    text = f"{'' if line.known else '# '}{line.key} = {_value(line.value)}"
    if not line.about:
        return f"{text}\n"
    whole = f"{text:<{_COLUMN}}  # {line.about}\n"
    return whole if len(whole) <= _WIDTH else f"# {line.key}: {line.about}\n{text}\n"


def _value(value: object) -> str:
    match value:
        case bool():
            return "true" if value else "false"
        case _Bare() | int():
            return str(value)
        case Decimal():
            return f"{value:f}"
        case Measure():
            return toml_text(f"{value.value:f} {value.unit}")
        case StrEnum():
            return toml_text(_spaced(value))
        case _:
            return toml_text(str(value))


def _listed(values: Iterable[str]) -> str:
    return ", ".join(map(_spaced, values))


def _spaced(value: str) -> str:
    return value.replace("_", " ")


def _plain(text: str) -> str:
    """A text that cannot end its comment line or control the terminal that shows the file."""
    return "".join(c if c.isprintable() else " " for c in text)
