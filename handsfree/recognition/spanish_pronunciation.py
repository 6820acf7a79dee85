"""Pronunciations of Spanish words, by rule from the spelling.

The phones use the English labels, so that one format of model, lexicon and graph serves both
languages. The Spanish model is trained on Spanish alone: a label stands for the Spanish sound in
the table below, not for the English one. The pronunciation is Latin American: z and soft c are s,
ll is y.

==========  =====================================================
label       Spanish sound
==========  =====================================================
AA EH IY    a, e, i (y as a vowel)
OW UW       o, u
Y W         i and u that glide before another vowel; ll, y
B D G       b and v, d, g
P T K F     p, t, c and qu and k, f
S CH HH     s and z and soft c, ch, j and soft g
M N L       m, n, l
N Y         ñ
R ER        r between vowels and at the end; rr and r at the start
==========  =====================================================
"""

from __future__ import annotations

import unicodedata

from handsfree.recognition.lexicon import Pronunciation

LETTERS = frozenset("abcdefghijklmnopqrstuvwxyzáéíóúüñ")

_EXCEPTIONS = {"backcheck": ("B", "AA", "K", "CH", "EH", "K")}
_VOWELS = {"a": "AA", "e": "EH", "i": "IY", "o": "OW", "u": "UW"}
_PLAIN = {
    **{"b": "B", "v": "B", "d": "D", "f": "F", "k": "K", "l": "L", "m": "M", "n": "N", "p": "P"},
    **{"s": "S", "t": "T", "w": "W", "z": "S"},
}


def knows(word: str) -> bool:
    """True if a word consists of Spanish letters and has a vowel."""
    return bool(word) and set(word) <= LETTERS and bool(set(_plain_vowels(word)) & set("aeiouy"))


def pronounce(word: str) -> Pronunciation:
    """Returns the phones of a lowercase word. Raises ValueError if its spelling is not Spanish."""
    if not knows(word):
        raise ValueError(f"'{word}' is not spelled in Spanish letters")
    if word in _EXCEPTIONS:
        return _EXCEPTIONS[word]
    phones: list[str] = []
    place = 0
    while place < len(word):
        length, said = _at(word, place)
        phones += said
        place += length
    return tuple(phones)


def _at(word: str, place: int) -> tuple[int, list[str]]:
    """Number of letters that make the next sound or sounds, and their phones."""
    rest = word[place:]
    letter, following = rest[0], _plain_vowels(rest[1:2])
    for spelling, said in (
        ("ch", ["CH"]),
        ("ll", ["Y"]),
        ("rr", ["ER"]),
        ("qu", ["K"]),
        ("sh", ["CH"]),
    ):
        if rest.startswith(spelling):
            return 2, said
    if letter == "g" and rest[1:2] == "u" and rest[2:3] in ("e", "i", "é", "í"):
        return 2, ["G"]
    if letter in "cg" and following in ("e", "i"):
        return 1, ["S" if letter == "c" else "HH"]
    match letter:
        case "c":
            return 1, ["K"]
        case "g":
            return 1, ["G"]
        case "j":
            return 1, ["HH"]
        case "h":
            return 1, []
        case "ñ":
            return 1, ["N", "Y"]
        case "x":
            return 1, ["K", "S"]
        case "q":
            return 1, ["K"]
        case "r":
            return 1, ["ER" if place == 0 or word[place - 1] in "nls" else "R"]
        case "y":
            glides = following in _VOWELS
            return 1, ["Y" if glides else "IY"]
        case "i" if following in _VOWELS:
            return 1, ["Y"]
        case "u" | "ü" if following in _VOWELS:
            return 1, ["W"]
        case _ if letter in _PLAIN:
            return 1, [_PLAIN[letter]]
        case _:
            return 1, [_VOWELS[_plain_vowels(letter)]]


def _plain_vowels(text: str) -> str:
    """Removes accents; ñ is a separate letter and stays."""
    return "".join(
        letter if letter == "ñ" else unicodedata.normalize("NFD", letter)[0] for letter in text
    )
