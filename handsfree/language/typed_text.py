"""Converts typed text to spoken words: '6.2 s' is 'six point two seconds'."""

from __future__ import annotations

import re
import unicodedata

from handsfree.language.typed_lengths import lengths_in_words
from handsfree.language.wording import Wording

_PUNCTUATION = ",.;:!?¡¿"
_AMBIGUOUS = re.compile(r"\d+,\d{3}(?!\d)")
_CODE = re.compile(r"[A-Za-z0-9]{1,4}")
_HYPHEN = re.compile(r"(?<=[^\W\d])-(?=[^\W\d])")


def spoken_form(text: str, w: Wording) -> tuple[str, ...]:
    """Splits a text into lowercase words without the punctuation around them.

    Digits become words one by one and so keep their zeros; a unit's symbol is read as the unit only
    directly after digits. Text that cannot be spoken ('-5', '6 5', and '6,2' in a language without
    a decimal comma) stays as typed, so that the grammar rejects it. So does '1,250', because some
    people mean thousands and others thousandths.
    """
    symbols, short = w.names["symbol"], w.names["short"]
    marks = "".join(re.escape(mark) for mark in w.names["digit"] if not mark.isdigit())
    pattern = re.compile(rf"([0-9]+(?:[{marks}][0-9]+)?|[{marks}][0-9]+)(\D*)")
    words: list[str] = []
    after_digits = False
    for written in _HYPHEN.sub(" ", lengths_in_words(text, w)).split():
        typed = written.lower()
        piece = typed.rstrip(_PUNCTUATION).lstrip("¡¿")
        number = None if _AMBIGUOUS.match(piece) else pattern.fullmatch(piece)
        if (code := _code(written, words, w)) is not None:
            words += code
            after_digits = False
            continue
        if after_digits and piece in symbols:
            words += symbols[piece].split()
        elif number and not after_digits:
            digits, symbol = number[1], number[2]
            words += [*w.digits(digits).split(), *str(symbols.get(symbol, symbol)).split()]
        elif piece:
            words += short.get(piece, piece).split()
        after_digits = number is not None and not number[2]
    return tuple(words)


def _code(typed: str, before: list[str], w: Wording) -> list[str] | None:
    """The words that spell a typed code after 'it shows'; None for anything else.

    Lower-case letters alone are words: 'it shows echo four', but 'it shows E4' and 'it shows e4'.
    """
    code = typed.rstrip(_PUNCTUATION)
    if not before or before[-1] not in w.names["spelled_after"] or not _CODE.fullmatch(code):
        return None
    if code.islower() and code.isalpha():
        return None
    spelled = {**w.names["letter"], **w.names["digit"]}
    return [str(spelled[sign]) for sign in code.lower()]


def without_accents(word: str) -> str:
    """Removes accents, as people do when typing fast: 'sí' is 'si'."""
    parted = unicodedata.normalize("NFD", word)
    return "".join(letter for letter in parted if not unicodedata.combining(letter))
