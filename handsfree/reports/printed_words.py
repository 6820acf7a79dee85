"""The words of the owner's record, the door label and the calendar in one language."""

from __future__ import annotations

from datetime import date
from functools import cache
from importlib.resources import files
from typing import Any

from handsfree.errors import WordingError
from handsfree.language.wording import ENGLISH, Wording, wording
from handsfree.toml_source import TomlSource, nearest

_FILE = "printed_words.toml"


class PrintedWords:
    """The words of one language: ``texts`` for print, ``names`` from the wording."""

    def __init__(self, texts: dict[str, Any], names: Wording) -> None:
        self.texts = texts
        self.names = names

    @property
    def language(self) -> str:
        """The language's two letters: 'en'."""
        return self.names.language

    def text(self, name: str, /, **values: object) -> str:
        """A text with its values filled in, of two the one for ``count``. Raises KeyError."""
        found = self.texts[name]
        if isinstance(found, list):
            found = found[0 if values["count"] == 1 else 1]
        return str(found).format(**values)

    def day(self, day: date) -> str:
        """A date written out: 'March 4, 2100'."""
        month = self.texts["months"][day.month - 1]
        return self.text("date", day=day.day, month=month, year=day.year)


@cache
def printed_words(language: str = ENGLISH) -> PrintedWords:
    """The printed words of a language. Raises WordingError if there is no such language."""
    source = TomlSource(
        files("handsfree.reports").joinpath(_FILE).read_text(encoding="utf-8"), _FILE, WordingError
    )
    if language not in source.data:
        raise WordingError(
            f"no record can be printed in the language '{language}'",
            way_out=nearest(language, source.data),
        )
    return PrintedWords(source.data[language], wording(language))
