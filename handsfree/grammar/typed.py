"""Typed text into the words that would have been said: '6.2 s' is 'six point two seconds'."""

from __future__ import annotations

import re
from decimal import Decimal

from handsfree.grammar.words import number_words

_PIECE = re.compile(r"\d+(?:\.\d+)?|\.\d+|[a-z]+(?:'[a-z]+)?|[\"'°]|\S")
_NUMBER = re.compile(r"\d*\.?\d+")
_SILENT = frozenset(",.;:!?-")
_UNITS = {
    "s": "seconds",
    "sec": "seconds",
    "in": "inches",
    '"': "inches",
    "ft": "feet",
    "'": "feet",
    "mm": "millimetres",
    "cm": "centimetres",
    "m": "metres",
    "lb": "pounds",
    "lbs": "pounds",
    "lbf": "pounds force",
    "kg": "kilograms",
    "n": "newtons",
    "deg": "degrees",
    "°": "degrees",
}
_SHORT = {"what's": "what is", "that's": "that is"}


def spoken_form(text: str) -> tuple[str, ...]:
    """The words of a text, lower case, without punctuation.

    Digits become words one by one, and so keep their trailing zeros; a unit's symbol
    is read as the unit directly after digits only.
    """
    words: list[str] = []
    after_digits = False
    for piece in _PIECE.findall(text.lower()):
        digits = _NUMBER.fullmatch(piece) is not None
        if digits:
            words += number_words(Decimal(piece)).split()
        elif after_digits and piece in _UNITS:
            words += _UNITS[piece].split()
        elif piece not in _SILENT:
            words += _SHORT.get(piece, piece).split()
        after_digits = digits
    return tuple(words)
