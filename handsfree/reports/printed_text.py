"""Makes a text printable: one line, no control characters, only letters in the fonts."""

from __future__ import annotations

import unicodedata

_UNBROKEN = 18
_LETTERS = (
    *((0x21, 0x7E), (0xA1, 0xAC), (0xAE, 0x377), (0x37A, 0x37F), (0x384, 0x38A)),
    *((0x38C, 0x38C), (0x38E, 0x3A1), (0x3A3, 0x484), (0x487, 0x4FF), (0x1E00, 0x1EFF)),
    *((0x2010, 0x2027), (0x2030, 0x203A), (0x2044, 0x2044), (0x2070, 0x2071), (0x2074, 0x208E)),
    *((0x20A0, 0x20BF), (0x2116, 0x2116), (0x2122, 0x2122), (0x2126, 0x2126), (0x2153, 0x215E)),
    *((0x2190, 0x21FF), (0x2200, 0x22FF), (0x25A0, 0x25FF), (0x2713, 0x2713), (0x2717, 0x2717)),
)
"""Code points covered by the typesetter's fonts; PDF/A allows no others."""
MISSING = "□"
"""Replacement for a letter that the fonts lack."""


def printed_text(text: object, most: int) -> str:
    """One printable line of at most ``most`` characters, without words wider than a column."""
    shown = "".join(
        " " if letter.isspace() else letter if _known(letter) else MISSING
        for letter in unicodedata.normalize("NFC", str(text))
        if letter.isspace() or unicodedata.category(letter)[0] != "C"
    )
    shown = " ".join(shown.split())
    shown = shown if len(shown) <= most else shown[: most - 1].rstrip() + "…"
    return " ".join(_breakable(word) for word in shown.split(" "))


def letters() -> str:
    """All printable characters."""
    return "".join(
        letter
        for low, high in _LETTERS
        for letter in map(chr, range(low, high + 1))
        if unicodedata.category(letter)[0] != "C"
    )


def _known(letter: str) -> bool:
    return any(low <= ord(letter) <= high for low, high in _LETTERS)


def _breakable(word: str) -> str:
    """A word with zero-width spaces at which a long one can be broken."""
    if len(word) <= _UNBROKEN:
        return word
    return "\u200b".join(word[at : at + _UNBROKEN] for at in range(0, len(word), _UNBROKEN))
