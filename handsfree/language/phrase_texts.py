"""What people read beside the phrases of a language: its ``phrases.toml``.

The file names the parts of sentences that have rows of their own, says what each phrase
does, and picks those of the printed card.
"""

from __future__ import annotations

from typing import Any

from pydantic import ValidationError

from handsfree.data import data_folder
from handsfree.errors import WordingError
from handsfree.job.quantity import Quantity, quantity_words
from handsfree.job.record import Record
from handsfree.language.wording import ENGLISH
from handsfree.toml_source import TomlSource

FILE = "phrases.toml"


class Part(Record):
    """A rule of the grammar that is named in a sentence, and spelled out in rows of its own.

    ``name`` stands in angle brackets; ``group`` is where its rows are listed; ``does`` says
    what it is.
    """

    name: str
    group: str
    does: str


class CardGroup(Record):
    """Some phrases of the card under one title; each must be a sentence."""

    title: str
    say: tuple[str, ...]


class CardTexts(Record):
    """The card: what stands above the phrases and below them, and the phrases."""

    title: str
    warning: str
    foot: str
    group: tuple[CardGroup, ...]


class PhraseTexts(Record):
    """The texts of one language.

    ``group`` has the title of every group of rows in order; ``listed`` the group of a kind of
    meaning, 'words' for a kind that it leaves out; ``head`` the three heads of the
    table; ``part`` the parts of sentences by the rule's full name, 'names.leaf'; ``does``, by
    the name of a tag and its value, what a phrase with that tag does.
    """

    language: str
    name: str
    head: tuple[str, str, str]
    group: dict[str, str]
    listed: dict[str, str]
    part: dict[str, Part]
    does: dict[str, dict[str, str]]
    card: CardTexts


def phrase_texts(language: str = ENGLISH) -> PhraseTexts:
    """The texts of a shipped language. Raises WordingError with file and line."""
    path = data_folder("grammars") / language / FILE
    try:
        text = path.read_text(encoding="utf-8")
    except FileNotFoundError as error:
        raise WordingError(
            "there is no such file", file=path, way_out=f"copy it from grammars/{ENGLISH}"
        ) from error
    source = TomlSource(text, path, WordingError)
    data: dict[str, Any] = {"language": language, **source.data}
    try:
        texts = PhraseTexts.model_validate(data)
    except ValidationError as error:
        raise source.refused(error) from error
    of_quantity = {str(each): quantity_words(each, language).does for each in Quantity}
    return texts.model_copy(update={"does": {**texts.does, "quantity": of_quantity}})
