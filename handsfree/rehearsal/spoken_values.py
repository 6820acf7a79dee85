"""Values back from their words: 'thirty six inches' as the tool says it is 36 in."""

from __future__ import annotations

import re
from decimal import Decimal
from functools import cache

from handsfree.job.unit import Unit
from handsfree.language.wording import wording

_MOST = 9999
"""Largest whole number that is said as people say it."""
_MOST_INCHES = 150
_SIXTEENTHS = 16


class SpokenValues:
    """The numbers and units of a language, as a listener understands them.

    ``number`` is a regular expression for a number, and ``unit`` one for a unit.
    """

    def __init__(self, language: str) -> None:
        words = wording(language)
        self._digits = {word: digit for digit, word in words.names["digit"].items()}
        self._whole: dict[str, Decimal] = {}
        units = words.names["unit"]
        for of in ("", next(iter(units)), *words.names["feminine"]):
            for number in range(_MOST + 1):
                self._whole.setdefault(words.cardinal(number, of), Decimal(number))
        self._units = {
            str(spoken): Unit(unit) for unit, names in units.items() for spoken in names if spoken
        }
        self._tape = {
            words.inches(marks): Decimal(marks) / _SIXTEENTHS
            for marks in range(_MOST_INCHES * _SIXTEENTHS)
        }
        parts = {word for said in self._whole for word in said.split()} | self._digits.keys()
        parts |= {word for said in self._tape for word in said.split()} - self._units.keys()
        word = "|".join(sorted(map(re.escape, parts), key=len, reverse=True))
        self.number = rf"(?:{word})(?: (?:{word}))*"
        self.unit = "|".join(sorted(map(re.escape, self._units), key=len, reverse=True))

    def value(self, number: str, unit: str | None) -> Decimal | None:
        """The value of a number before its unit; None if the words are no number."""
        if unit is not None and (inches := self._tape.get(f"{number} {unit}")) is not None:
            return inches
        if number in self._whole:
            return self._whole[number]
        words = number.split()
        if not all(word in self._digits for word in words):
            return None
        return Decimal("".join(self._digits[word] for word in words))

    def unit_of(self, spoken: str | None) -> Unit | None:
        """The unit that a word names; None without a word."""
        return self._units.get(spoken) if spoken is not None else None


@cache
def spoken_values(language: str) -> SpokenValues:
    """The numbers of a language; made once."""
    return SpokenValues(language)
