"""Pronounces words: by the model's lexicon, otherwise the CMU dictionary; Spanish by rule."""

from __future__ import annotations

from pathlib import Path
from typing import Protocol

from handsfree.recognition import spanish_pronunciation
from handsfree.recognition.lexicon import Lexicon, Pronunciation, read_lexicon
from handsfree.recognition.phones import ARPABET
from handsfree.recognition.pronouncing_dictionary import load_dictionary

_NUMBER = {phone: index + 1 for index, phone in enumerate(ARPABET)}


class Pronounces(Protocol):
    """Phone numbers (1 to 39, in the order of ARPABET) for words."""

    def knows(self, word: str) -> bool:
        """True if the pronunciation of a word is known."""
        ...

    def phones(self, word: str) -> list[list[int]]:
        """All pronunciations of a known word, the usual one first."""
        ...


class SpanishPronouncer:
    """Pronounces Spanish words by the rules of spelling."""

    def knows(self, word: str) -> bool:
        """True if a word is spelled in Spanish letters."""
        return spanish_pronunciation.knows(word)

    def phones(self, word: str) -> list[list[int]]:
        """The only pronunciation of a word. Raises ValueError for an unknown word."""
        return [[_NUMBER[phone] for phone in spanish_pronunciation.pronounce(word)]]


class Pronouncer:
    """Phone numbers (1 to 39, in the order of ARPABET) for words."""

    def __init__(self, lexicon: Lexicon, dictionary: dict[str, tuple[Pronunciation, ...]]) -> None:
        self._lexicon = lexicon
        self._dictionary = dictionary

    @classmethod
    def load(cls, lexicon: Path) -> Pronouncer:
        """Creates one with the lexicon of a model folder and the dictionary of the train extra."""
        return cls(read_lexicon(lexicon), load_dictionary())

    def knows(self, word: str) -> bool:
        """True if the pronunciation of a word is known."""
        return word in self._dictionary or not self._lexicon.missing([word])

    def phones(self, word: str) -> list[list[int]]:
        """All pronunciations of a word, the usual one first. Raises KeyError for an unknown
        word.
        """
        known = not self._lexicon.missing([word])
        ways = self._lexicon.of(word) if known else self._dictionary[word]
        return [[_NUMBER[phone] for phone in way] for way in ways]
