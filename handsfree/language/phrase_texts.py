"""Explanations of a language's phrases for people: its ``phrases.toml``.

The file names the parts of sentences that get their own rows, describes the effect of each phrase,
and selects the phrases of the printed card.
"""

from __future__ import annotations

from typing import Any

from pydantic import ValidationError

from handsfree.data import data_folder
from handsfree.errors import WordingError
from handsfree.job.door_feature import ANSWERS, FEATURES, answer_words, feature_words
from handsfree.job.quantity import Quantity, quantity_words
from handsfree.job.record import Record
from handsfree.job.visit_fact import VISIT_FACTS, visit_fact_words
from handsfree.language.wording import ENGLISH
from handsfree.toml_source import TomlSource

FILE = "phrases.toml"


class PhrasePart(Record):
    """A grammar rule that sentences name and that is spelled out in its own rows.

    ``name`` appears in angle brackets; ``group`` is where its rows are listed; ``does`` describes
    it.
    """

    name: str
    group: str
    does: str


class CardGroup(Record):
    """Phrases of the card under one title; each must be a sentence."""

    title: str
    say: tuple[str, ...]


class CardTexts(Record):
    """The printed card: its phrases, and the texts above and below them.

    ``does`` has the effect of a phrase where the table of phrases says it too broadly.
    """

    title: str
    warning: str
    foot: str
    does: dict[str, str]
    group: tuple[CardGroup, ...]


class PhraseTexts(Record):
    """The texts of one language.

    ``group`` has the title of every group of rows, in order. ``listed`` maps a kind of meaning to
    its group; the default is 'words'. ``head`` holds the three column headings of the table.
    ``part`` holds the parts of sentences by the rule's full name, 'names.leaf'. ``does`` maps the
    name of a tag and its value to the effect of a phrase with that tag.
    """

    language: str
    name: str
    head: tuple[str, str, str]
    group: dict[str, str]
    listed: dict[str, str]
    part: dict[str, PhrasePart]
    does: dict[str, dict[str, str]]
    card: CardTexts


def phrase_texts(language: str = ENGLISH) -> PhraseTexts:
    """Reads the texts of a shipped language. Raises WordingError with file and line."""
    path = data_folder("grammars") / language / FILE
    try:
        text = path.read_text(encoding="utf-8")
    except FileNotFoundError as error:
        raise WordingError(
            "no such file", file=path, way_out=f"copy it from grammars/{ENGLISH}"
        ) from error
    source = TomlSource(text, path, WordingError)
    data: dict[str, Any] = {"language": language, **source.data}
    try:
        texts = PhraseTexts.model_validate(data)
    except ValidationError as error:
        raise source.refused(error) from error
    of_quantity = {str(each): quantity_words(each, language).does for each in Quantity}
    of_answer = {each: answer_words(each, language).name for each in ANSWERS}
    of_feature = {each: feature_words(each, language).name for each in FEATURES}
    does = {
        **texts.does,
        "quantity": of_quantity,
        "value": {**of_answer, **texts.does.get("value", {})},
        "name": {**of_feature, **texts.does.get("name", {})},
        "fact": {each: visit_fact_words(each, language).name for each in VISIT_FACTS},
    }
    return texts.model_copy(update={"does": does})
