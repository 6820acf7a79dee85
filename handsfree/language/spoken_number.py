"""The value of a spoken number, from the digits in its tags."""

from __future__ import annotations

import re
from collections.abc import Iterable
from decimal import Decimal

from handsfree.errors import BadValue

_DIGIT_TAG = re.compile(r"[0-9.]+")
_NUMBER = re.compile(r"\d+(\.\d+)?|\.\d+")


def is_digits(tag: str) -> bool:
    """True if a tag holds digits, such as '5', '00' or '.25'."""
    return _DIGIT_TAG.fullmatch(tag) is not None


def number_of(digits: Iterable[str]) -> Decimal:
    """Joins digit tags to a number; trailing zeros are kept.

    '1', '2', '5' is 125; '6', '.', '0', '5' is 6.05; '.5' is 0.5. Raises BadValue if they do not
    form a number, which is a mistake in the grammar file.
    """
    text = "".join(digits)
    if not _NUMBER.fullmatch(text):
        raise BadValue(f"the digits '{text}' are not a number")
    return Decimal(text)
