"""Converts typed text to spoken words: '6.2 s' is 'six point two seconds'."""

from __future__ import annotations

import re
import unicodedata

from handsfree.language.wording import Wording

_PUNCTUATION = ",.;:!?¡¿"
_AMBIGUOUS = re.compile(r"\d+,\d{3}(?!\d)")
_HYPHEN = re.compile(r"(?<=[^\W\d])-(?=[^\W\d])")


def spoken_form(text: str, w: Wording) -> tuple[str, ...]:
    """Splits a text into lowercase words without the punctuation around them.

    Digits become words one by one and so keep their zeros; a unit's symbol is read as the unit only
    directly after digits. What cannot be said ('-5', '6 5', and '6,2' where no comma is spoken)
    stays as typed, so that the grammar rejects it. So does '1,250', which one crew means as
    thousands and another as thousandths.
    """
    symbols, short = w.names["symbol"], w.names["short"]
    marks = "".join(re.escape(mark) for mark in w.names["digit"] if not mark.isdigit())
    pattern = re.compile(rf"([0-9]+(?:[{marks}][0-9]+)?|[{marks}][0-9]+)(\D*)")
    words: list[str] = []
    after_digits = False
    for typed in _HYPHEN.sub(" ", text.lower()).split():
        piece = typed.rstrip(_PUNCTUATION).lstrip("¡¿")
        number = None if _AMBIGUOUS.match(piece) else pattern.fullmatch(piece)
        if after_digits and piece in symbols:
            words += symbols[piece].split()
        elif number and not after_digits:
            digits, symbol = number[1], number[2]
            words += [*w.digits(digits).split(), *str(symbols.get(symbol, symbol)).split()]
        elif piece:
            words += short.get(piece, piece).split()
        after_digits = number is not None and not number[2]
    return tuple(words)


def without_accents(word: str) -> str:
    """Removes accents, as people do when typing fast: 'sí' is 'si'."""
    parted = unicodedata.normalize("NFD", word)
    return "".join(letter for letter in parted if not unicodedata.combining(letter))
