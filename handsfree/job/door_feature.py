"""The features that a door can have, as the tables of door_features.toml describe them."""

from __future__ import annotations

from pathlib import Path
from typing import Any, Literal, TypeVar

from pydantic import Field, ValidationError, model_validator

from handsfree.errors import HandsfreeError
from handsfree.job.record import Record
from handsfree.toml_source import TomlSource

FILE = Path(__file__).with_name("door_features.toml")
"""The table of door features; its head explains the keys."""
UNKNOWN = "unknown"
"""The value of a feature for the answer 'I don't know'."""
YES_NO = ("yes", "no")

R = TypeVar("R", bound=Record)


class AnswerWords(Record):
    """An answer in one language: its name and its spoken forms."""

    name: str
    say: tuple[str, ...] = ()


class Answer(Record):
    """An answer that one or more features share.

    ``construction`` describes a leaf of this material, as in a job file.
    """

    words: dict[str, AnswerWords]
    construction: dict[str, str | int] | None = None


class FeatureWords(Record):
    """A feature in one language.

    ``ask`` is the spoken question. ``state`` begins a statement that ends with an answer; ``yes``
    and ``no`` are complete statements.
    """

    name: str
    ask: str
    state: tuple[str, ...] = ()
    yes: tuple[str, ...] = ()
    no: tuple[str, ...] = ()


class DoorFeature(Record):
    """One property of a door: what it belongs to, and the values that it can have.

    ``when`` is the condition under which it has a meaning. ``always`` is true if every visit needs
    it, ``known`` if *I don't know* is not accepted. ``unknown`` is the value that conditions use if
    it is not known.
    """

    id: str
    of: Literal["opening", "leaf"]
    values: tuple[str, ...] = Field(min_length=2)
    when: str | None = None
    always: bool = False
    known: bool = False
    unknown: str | None = None
    words: dict[str, FeatureWords]

    @model_validator(mode="after")
    def _consistent(self) -> DoorFeature:
        for words in self.words.values():
            if bool(words.state) is self.yes_or_no or bool(words.yes and words.no) < self.yes_or_no:
                raise ValueError("a question of yes and no has yes and no, any other has state")
        if self.unknown not in (None, *self.values):
            raise ValueError(f"unknown: '{self.unknown}' is not one of its values")
        return self

    @property
    def accepted(self) -> tuple[str, ...]:
        """The accepted values, including 'unknown' if the visit can do without the answer."""
        return self.values if self.known else (*self.values, UNKNOWN)

    @property
    def yes_or_no(self) -> bool:
        """True if its values are yes and no."""
        return self.values == YES_NO


class ValueSet(Record):
    """Named set of a feature's values, for use as a condition in procedures."""

    feature: str
    values: frozenset[str]


class _Tables(Record):
    answers: dict[str, Answer]
    features: dict[str, DoorFeature]
    conditions: dict[str, ValueSet]


def read_features(source: TomlSource) -> _Tables:
    """The answers, features and conditions of a table.

    Raises HandsfreeError with file and line for a table that is not valid, or that names an answer
    or a feature that does not exist.
    """
    answers = {
        key: _made(source, Answer, f"value.{key}", _with_words(raw))
        for key, raw in source.data["value"].items()
    }
    features = {
        key: _made(source, DoorFeature, f"feature.{key}", {"id": key, **_with_words(raw)})
        for key, raw in source.data["feature"].items()
    }
    conditions = {
        key: _made(source, ValueSet, f"condition.{key}", raw)
        for key, raw in source.data["condition"].items()
    }
    for key, feature in features.items():
        for value in feature.values:
            if value not in answers and not feature.yes_or_no:
                raise source.fault(
                    f"'{key}' has the value '{value}', but there is no [value.{value}]",
                    f"feature.{key}", key="values", way_out=f"add [value.{value}] with its words",
                )  # fmt: skip
    for key, some in conditions.items():
        known = features[some.feature].values if some.feature in features else ()
        if not some.values <= set(known):
            raise source.fault(
                f"the condition '{key}' does not fit the feature '{some.feature}'",
                f"condition.{key}", way_out=f"values known: {', '.join(known)}",
            )  # fmt: skip
    flags = {
        key: ValueSet(feature=key, values=frozenset({"yes"}))
        for key, feature in features.items()
        if feature.yes_or_no
    }
    return _Tables(answers=answers, features=features, conditions={**conditions, **flags})


def _with_words(raw: dict[str, Any]) -> dict[str, Any]:
    """A table with its languages gathered under the key 'words'."""
    words = {key: value for key, value in raw.items() if len(key) == 2 and isinstance(value, dict)}
    return {**{key: value for key, value in raw.items() if key not in words}, "words": words}


def _made(source: TomlSource, kind: type[R], table: str, raw: dict[str, Any]) -> R:
    try:
        return kind.model_validate(raw)
    except ValidationError as error:
        raise source.refused(error, table) from error


_source = TomlSource(FILE.read_text(encoding="utf-8"), FILE, HandsfreeError)
_tables = read_features(_source)

ANSWERS: dict[str, Answer] = _tables.answers
FEATURES: dict[str, DoorFeature] = _tables.features
NAMED_CONDITIONS: dict[str, ValueSet] = _tables.conditions
"""Named conditions for procedures, each a set of one feature's values."""


def line_of(table: str, key: str | None = None) -> int:
    """The line in door_features.toml (from 1) of a table, or of a key in it."""
    return _source.line(table, key=key)


def feature_words(feature: str, language: str) -> FeatureWords:
    """A feature's words in a language. Raises HandsfreeError, with the line of its table, if
    missing.
    """
    return _words(FEATURES[feature].words, f"feature.{feature}", language)


def answer_words(answer: str, language: str) -> AnswerWords:
    """An answer's words in a language. Raises HandsfreeError, with the line of its table, if
    missing.
    """
    return _words(ANSWERS[answer].words, f"value.{answer}", language)


W = TypeVar("W", bound=Record)


def _words(words: dict[str, W], table: str, language: str) -> W:
    found = words.get(language)
    if found is None:
        raise HandsfreeError(
            f"'{table}' has no words of the language '{language}'",
            file=FILE,
            line=line_of(table),
            way_out=f"add {language} with its name and what is said",
        )
    return found
