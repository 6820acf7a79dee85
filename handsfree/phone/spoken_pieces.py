"""Divides the tool's texts into pieces of speech that the app was built with.

A phone without an offline voice plays these pieces. A fixed sentence is one piece; a sentence with
a value or a name in it is put together from phrases and words; any other word is spelled.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Sequence
from typing import NamedTuple

from handsfree.language.wording import Wording

WORD_S, COMMA_S, END_S = 0.03, 0.2, 0.45
"""Pauses after a piece (s): inside a phrase, at a comma, and at the end of a sentence."""
_TOKEN = re.compile(r"\d+(?:[.,]\d+)?|[^\W\d_]+(?:['\u2019][^\W\d_]+)*|[.,;:?!]")
_SENTENCE = re.compile(r"(?<=[.?!;:])\s+")
_ENDS = ".;:?!"


class Word(NamedTuple):
    """One spoken word, and the pause after it (s)."""

    text: str
    pause_s: float


def sentences_of(text: str) -> list[str]:
    """The sentences of a text, each with the mark that ends it."""
    return [part for part in _SENTENCE.split(text.strip()) if part]


def words_of(text: str, wording: Wording) -> list[Word]:
    """The words of a text in lower case, numbers as words: '6.2' is 'six', 'point', 'two'."""
    words = list[Word]()
    for token in _TOKEN.findall(text):
        if token[0].isdecimal():
            words += [Word(word, WORD_S) for word in _number(token, wording).split()]
        elif token[0].isalpha():
            words.append(Word(token.replace("\u2019", "'").casefold(), WORD_S))
        elif words:
            pause_s = END_S if token in _ENDS else COMMA_S
            words[-1] = Word(words[-1].text, max(pause_s, words[-1].pause_s))
    return words


def _number(written: str, wording: Wording) -> str:
    """A written number as words; digit by digit if it is no plain whole number."""
    if written.isdecimal() and (written == "0" or written[0] != "0"):
        return wording.cardinal(int(written))
    return wording.digits(written.replace(",", "."))


def key_of(words: Iterable[str]) -> str:
    """The name of a piece: its words."""
    return " ".join(words)


def phrase_key(text: str, wording: Wording) -> str:
    """The name of the piece that says a text; '' if the text has no word."""
    return key_of(word.text for word in words_of(text, wording))


def spelled(word: str, wording: Wording) -> list[str]:
    """The words that spell a word by the alphabet of radiotelephony, accents left out.

    A word in other letters is said as 'see the screen'.
    """
    letters = wording.names["letter"]
    plain = unicodedata.normalize("NFKD", word.casefold())
    said = [letters[letter] for letter in plain if letter in letters]
    return said or phrase_key(wording.say("see_screen"), wording).split()


class Pieces:
    """The pieces of one language: ``phrases`` are their names, in the order of their numbers."""

    def __init__(self, phrases: Sequence[str], wording: Wording) -> None:
        self._wording = wording
        self._numbers = {phrase: number for number, phrase in enumerate(phrases)}
        self._longest = max((phrase.count(" ") + 1 for phrase in phrases), default=1)

    def saying(self, text: str) -> list[tuple[int, float]]:
        """The numbers of the pieces that say a text, each with the pause after it (s).

        They are the fewest that can say it.
        """
        words = self._sayable(text)
        count = len(words)
        best: list[tuple[int, int]] = [(0, count)] * (count + 1)  # pieces from here, end of first
        for start in reversed(range(count)):
            ends = range(start + 1, min(count, start + self._longest) + 1)
            best[start] = min(
                (best[end][0] + 1, -end)
                for end in ends
                if key_of(word.text for word in words[start:end]) in self._numbers
            )
        said, start = [], 0
        while start < count:
            end = -best[start][1]
            key = key_of(word.text for word in words[start:end])
            said.append((self._numbers[key], words[end - 1].pause_s))
            start = end
        return said

    def _sayable(self, text: str) -> list[Word]:
        """The words of a text, those without a piece spelled."""
        words = list[Word]()
        for word in words_of(text, self._wording):
            if word.text in self._numbers:
                words.append(word)
            else:
                said = spelled(word.text, self._wording)
                words += [Word(each, WORD_S) for each in said[:-1]]
                words.append(Word(said[-1], word.pause_s))
        return words
