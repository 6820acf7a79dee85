"""Typed text into the words that would have been said: '6.2 s' is 'six point two seconds'."""

from __future__ import annotations

import re

from handsfree.grammar.words import digit_words

_PUNCTUATION = ",.;:!?"
_NUMBER = re.compile(r"([0-9]+(?:\.[0-9]+)?|\.[0-9]+)(\D*)")
_HYPHEN = re.compile(r"(?<=[a-z])-(?=[a-z])")
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
    """The words of a text, lower case, without the punctuation after them.

    Digits become words one by one, and so keep their zeros; a unit's symbol is read as
    the unit directly after digits only. What cannot be said ('-5', '6,2', '6 5') stays
    as typed, so that the grammar refuses it.
    """
    words: list[str] = []
    after_digits = False
    for typed in _HYPHEN.sub(" ", text.lower()).split():
        piece = typed.rstrip(_PUNCTUATION)
        number = _NUMBER.fullmatch(piece)
        if after_digits and piece in _UNITS:
            words += _UNITS[piece].split()
        elif number and not after_digits:
            digits, symbol = number.groups()
            words += [*digit_words(digits).split(), *_UNITS.get(symbol, symbol).split()]
        elif piece:
            words += _SHORT.get(piece, piece).split()
        after_digits = number is not None and not number[2]
    return tuple(words)
