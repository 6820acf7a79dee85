"""Values into words for reading back: digit by digit, with the unit.

Numbers are spoken digit by digit with the decimal as 'point' (FAA AIM 4-2-8, ICAO Doc
9432). A measure spoken here is a sentence of the grammar and means the same value, but
for energies: those are computed and never said to the tool.
"""

from __future__ import annotations

from decimal import Decimal

from handsfree.errors import BadValue
from handsfree.job.quantity import QUANTITIES, Quantity
from handsfree.job.reading import Subject
from handsfree.job.unit import Unit

_DIGITS = {
    "0": "zero",
    "1": "one",
    "2": "two",
    "3": "three",
    "4": "four",
    "5": "five",
    "6": "six",
    "7": "seven",
    "8": "eight",
    "9": "nine",
    ".": "point",
}

_UNITS: dict[Unit, tuple[str, str]] = {
    Unit.SECOND: ("second", "seconds"),
    Unit.INCH: ("inch", "inches"),
    Unit.FOOT: ("foot", "feet"),
    Unit.MILLIMETRE: ("millimetre", "millimetres"),
    Unit.CENTIMETRE: ("centimetre", "centimetres"),
    Unit.METRE: ("metre", "metres"),
    Unit.POUND: ("pound", "pounds"),
    Unit.KILOGRAM: ("kilogram", "kilograms"),
    Unit.POUND_FORCE: ("pound force", "pounds force"),
    Unit.NEWTON: ("newton", "newtons"),
    Unit.DEGREE: ("degree", "degrees"),
    Unit.ONE: ("cycle", "cycles"),
    Unit.MONTH: ("month", "months"),
    Unit.STEP: ("", ""),
    Unit.FOOT_POUND: ("foot pound", "foot pounds"),
    Unit.JOULE: ("joule", "joules"),
}


def number_words(value: Decimal) -> str:
    """'six point two zero' for 6.20, 'one two five' for 125.

    Raises BadValue for a negative value or one that is not finite: neither can be said.
    """
    if not value.is_finite() or value.is_signed():
        raise BadValue(f"{value} has no spoken form")
    return digit_words(f"{value:f}")


def digit_words(written: str) -> str:
    """A number as written ('6.20', '.5') spoken character by character."""
    return " ".join(_DIGITS[character] for character in written)


def unit_words(unit: Unit, value: Decimal) -> str:
    """The unit as spoken after a value: 'second' after exactly 'one', else 'seconds'."""
    one, many = _UNITS[unit]
    return one if f"{value:f}" == "1" else many


def measure_words(value: Decimal, unit: Unit) -> str:
    """'six point two seconds'."""
    return f"{number_words(value)} {unit_words(unit, value)}".strip()


def subject_words(subject: Subject) -> str:
    """'left leaf'; the opening takes its article: 'the opening'."""
    return "the opening" if subject is Subject.OPENING else subject.value


def quantity_words(quantity: Quantity) -> str:
    """The full name of a quantity: 'hold open time'."""
    return QUANTITIES[quantity].spoken


def reading_words(subject: Subject | None, quantity: Quantity, value: Decimal, unit: Unit) -> str:
    """'left leaf, opening time, six point two seconds'."""
    parts = [quantity_words(quantity), measure_words(value, unit)]
    return ", ".join([subject_words(subject), *parts] if subject else parts)
