"""Printed texts about guides: on a sheet, in questions, in a new file."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from handsfree.errors import ControllerError
from handsfree.language.wording import ENGLISH
from handsfree.toml_source import TomlSource

WORDS = Path(__file__).parent / "data" / "words.toml"


@cache
def printed_words(language: str = ENGLISH) -> dict[str, str]:
    """The texts of a language by their names. Raises ControllerError if it has none."""
    source = TomlSource(WORDS.read_text(encoding="utf-8"), WORDS, ControllerError)
    if language not in source.data:
        raise source.fault(f"has no words for the language '{language}'")
    return {str(key): str(text) for key, text in source.data[language].items()}
