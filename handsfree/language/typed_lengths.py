"""Converts typed lengths to words: '4 1/2', '6' 8"', '36 x 84', '36 by 84', '3-0 x 7-0'."""

from __future__ import annotations

import re

from handsfree.language.wording import Wording

_SIGNS = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}
_FRACTION = re.compile(
    r"""(?<![\w.,/])(?:([1-9]\d*)[ ]+)?(\d{1,2}/\d{1,2})[ ]*(["]|[^\W\d]+\b|(?![\w.,/]))"""
)
_FEET = re.compile(r"""(?<![\w.,/])(\d{1,2})[ ]*'[ ]*-?[ ]*(\d{1,2})[ ]*"?(?![\w.,/'"])""")
_NOMINAL = re.compile(r"(?<![\w.,/-])(\d)-(\d{1,2}) x (\d)-(\d{1,2})(?![\w.,/-])")
_TIMES = re.compile(r"(?<=[\d\"'])\s*[x\u00d7]\s*(?=\d)", re.IGNORECASE)
_SIDES = re.compile(r"(?<![\w.,/-])([1-9]\d)(\"?)(?= x )|(?<= x )([1-9]\d)(\"?)(?![\w.,/'-])")


def lengths_in_words(text: str, w: Wording) -> str:
    """Converts fractions, feet and inches, and sizes to words that can be spoken.

    Anything that is not a tape length ('36 1/3', '6'14"') stays as typed. Eighths and sixteenths
    alone are inches.
    """
    for sign, written in _SIGNS.items():
        if sign in text:
            text = re.sub(rf"\s*{sign}", f" {written}", text)
    by = re.escape(str(w.names["short"]["x"]))
    text = re.sub(rf"(?<=[\d\"'])\s+{by}\s+(?=\d)", " x ", text, flags=re.IGNORECASE)
    text = _TIMES.sub(" x ", text)
    text = _NOMINAL.sub(r"\1'\2 x \3'\4", text)
    text = _FEET.sub(lambda found: _feet(found, w), text)
    text = _FRACTION.sub(lambda found: _fraction(found, w), text)
    return _SIDES.sub(lambda found: _side(found, w), text)


def _feet(found: re.Match[str], w: Wording) -> str:
    feet, inches = found[1], int(found[2])
    if inches >= 12:
        return found[0]
    return f"{feet} {w.units('ft')} {w.cardinal(inches)} {w.units('in')}"


def _side(found: re.Match[str], w: Wording) -> str:
    unit = f" {w.units('in')}" if found[2] or found[4] else ""
    return w.cardinal(int(found[1] or found[3])) + unit


def _fraction(found: re.Match[str], w: Wording) -> str:
    whole, fraction, unit = found[1], found[2], found[3].lower()
    said = w.names["fraction"].get(fraction)
    if said is None:
        return found[0]
    if whole is not None:
        said = f"{w.cardinal(int(whole))} {w.name('word', 'and')} {said}"
    elif not unit and fraction.split("/")[1] in ("8", "16"):
        unit = "in"
    return f"{said} {w.names['symbol'].get(unit, unit)} "
