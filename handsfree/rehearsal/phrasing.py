"""The many ways in which the technician may say a value."""

from __future__ import annotations

from decimal import Decimal
from random import Random

from handsfree.job.quantity import QUANTITIES, Quantity
from handsfree.job.reading import Subject
from handsfree.job.record import Record
from handsfree.job.unit import Unit

_ONES = (
    *("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"),
    *("eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen"),
    *("eighteen", "nineteen"),
)
_TENS = {
    **{2: "twenty", 3: "thirty", 4: "forty", 5: "fifty"},
    **{6: "sixty", 7: "seventy", 8: "eighty", 9: "ninety"},
}
_FRACTIONS = {"25": "a quarter", "5": "a half", "75": "three quarters"}
_UNIT = {
    Unit.SECOND: "seconds",
    Unit.INCH: "inches",
    Unit.FOOT: "feet",
    Unit.MILLIMETRE: "millimetres",
    Unit.METRE: "metres",
    Unit.POUND: "pounds",
    Unit.KILOGRAM: "kilograms",
    Unit.POUND_FORCE: "pounds",
    Unit.NEWTON: "newtons",
    Unit.DEGREE: "degrees",
    Unit.ONE: "cycles",
    Unit.MONTH: "months",
    Unit.STEP: "",
}


class IntendedReading(Record):
    """A reading that the technician intends to say."""

    quantity: Quantity
    subject: Subject
    value: Decimal
    unit: Unit


def whole(number: int, rng: Random) -> str:
    """Says 0 to 9999 in words: 'one twenty five', 'one hundred twenty five', 'one two five'."""
    if number >= 1000:
        return _thousands(number, rng)
    if number >= 100:
        hundreds, rest = divmod(number, 100)
        if rest == 0:
            return f"{_ONES[hundreds]} hundred"
        if rest >= 10 and rng.random() < 0.4:
            return f"{_ONES[hundreds]} {_two(rest)}"
        if rng.random() < 0.3:
            return spelt(str(number))
        return f"{_ONES[hundreds]} hundred {_two(rest)}"
    if number >= 20 and rng.random() < 0.25:
        return spelt(str(number))
    return _two(number)


def _thousands(number: int, rng: Random) -> str:
    if rng.random() < 0.5:
        return spelt(str(number))
    thousands, rest = divmod(number, 1000)
    if rest == 0:
        return f"{_ONES[thousands]} thousand"
    if rest < 100:
        return f"{_ONES[thousands]} thousand and {_two(rest)}"
    hundreds, last = divmod(rest, 100)
    words = f"{_ONES[thousands]} thousand {_ONES[hundreds]} hundred"
    return f"{words} {_two(last)}" if last else words


def _two(number: int) -> str:
    if number < 20:
        return _ONES[number]
    tens, ones = divmod(number, 10)
    return f"{_TENS[tens]} {_ONES[ones]}" if ones else _TENS[tens]


def spelt(written: str) -> str:
    """Spells a number digit by digit: 'six point two'."""
    return " ".join("point" if char == "." else _ONES[int(char)] for char in written)


def number(value: Decimal, rng: Random, *, fraction: bool = False) -> str:
    """Says a value in words; ``fraction`` allows 'and a half'."""
    written = f"{value:f}"
    before, _, after = written.partition(".")
    if not after or not int(after):
        return whole(int(before), rng)
    if fraction and after.rstrip("0") in _FRACTIONS and rng.random() < 0.6:
        part = _FRACTIONS[after.rstrip("0")]
        return f"{whole(int(before), rng)} and {part}" if int(before) else part
    return f"{whole(int(before), rng)} point {spelt(after)}"


def reading(
    meant: IntendedReading, rng: Random, *, context: str = "any", with_unit: bool = False
) -> str:
    """Says a reading: the number alone, with its quantity, or with its subject as well.

    ``context`` is 'bare', 'quantity', 'full' or 'any'. The unit is included sometimes, and always
    if ``with_unit``.
    """
    if context == "any":
        context = rng.choices(("bare", "quantity", "full"), (5, 3, 2))[0]
    if meant.quantity is Quantity.CYCLES and context == "bare":
        context = "quantity"
    fraction = meant.unit in (Unit.INCH, Unit.FOOT)
    said = number(meant.value, rng, fraction=fraction)
    unit = _UNIT[meant.unit]
    imperial = meant.unit in (Unit.FOOT, Unit.INCH, Unit.POUND, Unit.POUND_FORCE)
    wanted = 0.8 if imperial or context == "bare" else 0.6
    if unit and (rng.random() < wanted or with_unit):
        said = f"{said} {_one(unit) if said == 'one' else unit}"
    if context == "bare":
        return said
    named = _name(meant.quantity)
    if context == "full" and meant.subject is not Subject.OPENING:
        return f"{meant.subject} {named} {said}"
    return f"{named} {said}"


def digit_by_digit(meant: IntendedReading) -> str:
    """Says a value after two misses: quantity, digits, and the unit, because that may be in
    doubt.
    """
    digits = spelt(f"{meant.value:f}")
    unit = _UNIT[meant.unit]
    said = f"{_name(meant.quantity)} {digits} {_one(unit) if digits == 'one' else unit}"
    return said.rstrip()


def _name(quantity: Quantity) -> str:
    return QUANTITIES[quantity].spoken


def _one(units: str) -> str:
    return {"inches": "inch", "feet": "foot"}.get(units, units.removesuffix("s"))
