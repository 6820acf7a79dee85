"""Pronounces a word: by the model's lexicon, or else by the CMU dictionary; Spanish by rule."""

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
        """True if a word can be said."""
        ...

    def phones(self, word: str) -> list[list[int]]:
        """All ways to say a word that it knows, the usual one first."""
        ...


class SpanishPronouncer:
    """Spanish, by the rules of its spelling."""

    def knows(self, word: str) -> bool:
        """True if a word is spelled in Spanish letters."""
        return spanish_pronunciation.knows(word)

    def phones(self, word: str) -> list[list[int]]:
        """The one way to say a word. ValueError when it is not known."""
        return [[_NUMBER[phone] for phone in spanish_pronunciation.pronounce(word)]]


class Pronouncer:
    """Phone numbers (1 to 39, in the order of ARPABET) for words."""

    def __init__(self, lexicon: Lexicon, dictionary: dict[str, tuple[Pronunciation, ...]]) -> None:
        self._lexicon = lexicon
        self._dictionary = dictionary

    @classmethod
    def load(cls, lexicon: Path) -> Pronouncer:
        """With the lexicon of a model folder, and the dictionary of the train extra."""
        return cls(read_lexicon(lexicon), load_dictionary())

    def knows(self, word: str) -> bool:
        """True if a word can be said."""
        return word in self._dictionary or not self._lexicon.missing([word])

    def phones(self, word: str) -> list[list[int]]:
        """All ways to say a word, the usual one first. KeyError when it is not known."""
        known = not self._lexicon.missing([word])
        ways = self._lexicon.of(word) if known else self._dictionary[word]
        return [[_NUMBER[phone] for phone in way] for way in ways]
