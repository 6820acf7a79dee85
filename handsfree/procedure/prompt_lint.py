"""Finds text that a voice would stumble over or a listener forget: letters, capitals, length."""

from __future__ import annotations

import re
from collections.abc import Iterator

from handsfree.errors import HandsfreeError
from handsfree.toml_source import TomlSource

MOST_WORDS = 40
"""Largest number of words spoken at once; common practice, no published source."""
MOST_WORDS_IN_BRIEF = 25
_PUNCTUATION = " ,.?;:'-¿¡"
_WORD = re.compile(r"[^\W\d_]{2,}")


def unspeakable(
    source: TomlSource, table: str, nth: int, key: str, text: str, most: int = MOST_WORDS
) -> Iterator[HandsfreeError]:
    """Yields the faults of a spoken text, each letter and word once."""

    def fault(reason: str, way_out: str) -> HandsfreeError:
        return source.fault(reason, table, nth, key, way_out)

    for letter in dict.fromkeys(text):
        if not (letter.isalpha() or letter in _PUNCTUATION):
            yield fault(f"'{letter}' in {key} cannot be spoken", "write it as words")
    for word in dict.fromkeys(_WORD.findall(text)):
        if word.isupper():
            yield fault(f"'{word}' in {key} would be spelled letter by letter", "write it as words")
    if (count := len(text.split())) > most:
        yield fault(
            f"{key} has {count} words; nobody remembers more than {most}", "make it shorter"
        )
