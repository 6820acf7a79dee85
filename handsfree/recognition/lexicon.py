"""Pronunciations of the grammar's words, read from a model's lexicon.txt.

One pronunciation per line: the word, then its ARPAbet phones. A word may have several lines. A line
that begins with '#' is a comment.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from handsfree.errors import ModelError
from handsfree.recognition.phones import ARPABET

Pronunciation = tuple[str, ...]


@dataclass(frozen=True)
class Lexicon:
    """Words and their pronunciations, in the order of the file."""

    pronunciations: dict[str, tuple[Pronunciation, ...]]

    def of(self, word: str) -> tuple[Pronunciation, ...]:
        """Returns the pronunciations of a word. Raises KeyError for an unknown word."""
        return self.pronunciations[word]

    def missing(self, words: Iterable[str]) -> list[str]:
        """Lists the words without a pronunciation, sorted."""
        return sorted(set(words) - self.pronunciations.keys())


def extend_lexicon(path: Path, found: Mapping[str, Iterable[Pronunciation]], source: str) -> None:
    """Adds words to lexicon.txt below a comment that names their source."""
    lines = [f"{word} {' '.join(phones)}" for word, several in found.items() for phones in several]
    with path.open("a", encoding="utf-8") as file:
        file.write("\n".join(["", f"# From {source}:", *lines, ""]))


def read_lexicon(path: Path) -> Lexicon:
    """Reads lexicon.txt. Raises ModelError naming the file and line."""
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise ModelError("the pronunciations cannot be read", file=path) from error
    return parse_lexicon(text, path)


def parse_lexicon(text: str, path: Path | None = None) -> Lexicon:
    """Parses a lexicon; ``path`` is named in errors. Raises ModelError naming the line."""
    found: dict[str, list[Pronunciation]] = {}
    for number, line in enumerate(text.splitlines(), start=1):
        word, *phones = line.split() or [""]
        if not word or word.startswith("#"):
            continue
        strange = [phone for phone in phones if phone not in ARPABET]
        if strange or not phones:
            what = f"'{strange[0]}' is not a phone" if strange else "the word has no phones"
            raise ModelError(
                f"{what} in the pronunciation of '{word}'",
                file=path,
                line=number,
                way_out=f"use ARPAbet phones without stress marks: {' '.join(ARPABET)}",
            )
        entries = found.setdefault(word, [])
        if tuple(phones) not in entries:
            entries.append(tuple(phones))
    return Lexicon({word: tuple(entries) for word, entries in found.items()})
