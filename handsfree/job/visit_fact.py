"""The facts for the paperwork of a visit, as described by visit_facts.toml."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any, Literal

from pydantic import Field, ValidationError, model_validator

from handsfree.errors import HandsfreeError
from handsfree.job.reading import LEAF_SUBJECTS, Subject
from handsfree.job.record import Record
from handsfree.toml_source import TomlSource

FILE = Path(__file__).with_name("visit_facts.toml")
"""The table of visit facts; its head explains the keys."""
LONGEST_CODE, LONGEST_WORDS = 40, 1000
"""Longest code, and longest free words (characters)."""

_CODE = re.compile(rf"[A-Z0-9](?:[A-Z0-9./ -]{{0,{LONGEST_CODE - 2}}}[A-Z0-9])?")
_DATE = re.compile(r"(\d{4})-(\d{2})(?:-(\d{2}))?")
_EARLIEST, _LATEST = 1990, 2099

Takes = Literal["code", "words", "date", "choice", "moment"]
Group = Literal["times", "people", "operator", "controller", "parts", "gauges", "label", "photos"]


class ValueWords(Record):
    """An answer of a choice in one language: its name and its spoken forms."""

    name: str
    say: tuple[str, ...]


class VisitFactWords(Record):
    """A fact in one language: its name, its spoken forms, and the answers of a choice."""

    name: str
    say: tuple[str, ...] = Field(min_length=1)
    values: dict[str, ValueWords] = Field(default_factory=dict)


class VisitFact(Record):
    """One fact of a visit: the kind of its value, and its place in the paperwork.

    ``leaf`` is true if each leaf of a pair has its own, ``many`` if each statement adds another
    value. ``dates`` is the gauge whose calibration date it is.
    """

    id: str
    takes: Takes
    group: Group
    values: tuple[str, ...] = ()
    leaf: bool = False
    many: bool = False
    dates: str | None = None
    words: dict[str, VisitFactWords]

    @model_validator(mode="after")
    def _consistent(self) -> VisitFact:
        if bool(self.values) is not (self.takes == "choice"):
            raise ValueError("a choice needs values, and no other kind may have them")
        for language, words in self.words.items():
            if set(words.values) != set(self.values):
                raise ValueError(f"{language}: its values are not {', '.join(self.values)}")
        return self

    def refuse(self, subject: Subject, value: str) -> None:
        """Raises ValueError for a subject or a value that this fact cannot have.

        Free words kept only as sound have the value ''.
        """
        if subject is not Subject.OPENING and not (self.leaf and subject in LEAF_SUBJECTS):
            raise ValueError(f"no '{self.id}' of the {subject}")
        fits: object
        match self.takes:
            case "code":
                fits = _CODE.fullmatch(value)
            case "words":
                fits = len(value) <= LONGEST_WORDS and value.isprintable()
            case "date":
                fits = is_date(value)
            case "choice":
                fits = value in self.values
            case "moment":
                fits = not value
        if not fits:
            raise ValueError(f"'{self.id}' cannot be {value[:LONGEST_CODE]!r}")


def is_date(text: str) -> bool:
    """True for a month ('2026-03') or a day ('2026-03-14') between 1990 and 2099."""
    found = _DATE.fullmatch(text)
    if found is None or not _EARLIEST <= int(found[1]) <= _LATEST:
        return False
    year, month, day = int(found[1]), int(found[2]), int(found[3] or 1)
    leap = year % 4 == 0 and (year % 100 != 0 or year % 400 == 0)
    days = (31, 28 + leap, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
    return 1 <= month <= len(days) and 1 <= day <= days[month - 1]


def as_code(typed: str) -> str | None:
    """A typed code in capitals; None for text that is not a code."""
    code = " ".join(typed.upper().split())
    return code if _CODE.fullmatch(code) else None


def _read(source: TomlSource) -> dict[str, VisitFact]:
    """The facts of a table. Raises HandsfreeError, with the line, for an invalid table."""
    found: dict[str, VisitFact] = {}
    for key, raw in source.data["fact"].items():
        table = f"fact.{key}"
        words = {k: v for k, v in raw.items() if len(k) == 2 and isinstance(v, dict)}
        rest: dict[str, Any] = {k: v for k, v in raw.items() if k not in words}
        try:
            found[key] = VisitFact.model_validate({"id": key, **rest, "words": words})
        except ValidationError as error:
            raise source.refused(error, table) from error
    for key, fact in found.items():
        if fact.dates is not None and fact.dates not in found:
            raise source.fault(
                f"'{key}' dates '{fact.dates}', and there is no [fact.{fact.dates}]",
                f"fact.{key}", key="dates", way_out="name a gauge that has a table",
            )  # fmt: skip
    return found


_source = TomlSource(FILE.read_text(encoding="utf-8"), FILE, HandsfreeError)
VISIT_FACTS: dict[str, VisitFact] = _read(_source)


def line_of(table: str, key: str | None = None) -> int:
    """The line in visit_facts.toml (from 1) of a table, or of a key in it."""
    return _source.line(table, key=key)


def visit_fact_words(fact: str, language: str) -> VisitFactWords:
    """A fact's words in a language. Raises HandsfreeError, with the line of its table, if
    missing.
    """
    found = VISIT_FACTS[fact].words.get(language)
    if found is None:
        raise HandsfreeError(
            f"'fact.{fact}' has no words of the language '{language}'",
            file=FILE,
            line=line_of(f"fact.{fact}"),
            way_out=f"add {language} with its name and what is said",
        )
    return found
