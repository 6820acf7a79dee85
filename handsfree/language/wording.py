"""The words of one language: names, digits and sentences, as its wording files have them.

Nothing that is spoken stands in the code: it asks for a sentence by name and gives the
values that belong into it. docs/languages.md tells how to write a language.
"""

from __future__ import annotations

from decimal import Decimal
from functools import cache
from string import Formatter
from typing import Any

from handsfree.data import data_folder
from handsfree.errors import BadValue, WordingError
from handsfree.job.quantity import QUANTITIES, quantity_words
from handsfree.toml_source import TomlSource, nearest

ENGLISH = "en"
FILES = ("wording.toml", "findings.toml")
FILE_TABLES = (
    *("voice", "digit", "unit", "subject", "of", "the", "family", "rule"),
    *("symbol", "short", "alike", "another", "misheard", "moment", "word"),
)
TABLES = ("quantity", *FILE_TABLES)
"""The tables of names; those of the quantities come from quantities.toml."""


class Wording:
    """One language. ``names`` are its tables of names, ``sentences`` what it says."""

    def __init__(
        self, language: str, names: dict[str, dict[str, Any]], sentences: dict[str, Any]
    ) -> None:
        self.language = language
        self.names = names
        self.sentences = sentences

    def say(self, name: str, /, *, count: int | Decimal | None = None, **values: object) -> str:
        """A sentence with its values; ``count`` chooses between one and many.

        Raises WordingError when the language has no such sentence or a value is missing.
        """
        try:
            text = self.sentences[name]
            if count is not None:
                text = text[0 if count == 1 else 1]
                values["count"] = count
            return str(text).format(**values)
        except (KeyError, IndexError) as error:
            raise WordingError(
                f"the language '{self.language}' cannot say '{name}': {error}",
                way_out="mend its wording files",
            ) from error

    def name(self, table: str, key: str) -> str:
        """``name("quantity", "opening_time")`` is 'opening time'; the key where it has none."""
        return str(self.names[table].get(key, key.replace("_", " ")))

    @property
    def voices(self) -> tuple[str, ...]:
        """Language tags that a voice may have, the best first; none for the machine's own."""
        return tuple(self.names["voice"].get("tags", ()))

    # --- numbers and units

    def number(self, value: Decimal) -> str:
        """'six point two zero' for 6.20, 'one two five' for 125.

        Digit by digit, the decimal as 'point' (FAA AIM 4-2-8, ICAO Doc 9432). Raises
        BadValue for a negative value or one that is not finite: neither can be said.
        """
        if not value.is_finite() or value.is_signed():
            raise BadValue(f"{value} has no spoken form")
        return self.digits(f"{value:f}")

    def digits(self, written: str) -> str:
        """A number as written ('6.20', '.5') spoken character by character."""
        spoken = self.names["digit"]
        return " ".join(spoken[character] for character in written)

    def unit(self, unit: str, value: Decimal) -> str:
        """The unit as spoken after a value: 'second' after exactly 'one', else 'seconds'."""
        one, many = self.names["unit"][unit]
        return str(one if f"{value:f}" == "1" else many)

    def units(self, unit: str) -> str:
        """The unit as a plural word."""
        return str(self.names["unit"][unit][1])

    def measure(self, value: Decimal, unit: str) -> str:
        """'six point two seconds'."""
        return f"{self.number(value)} {self.unit(unit, value)}".strip()

    # --- names

    def subject(self, subject: str) -> str:
        """'left leaf'; the opening takes its article: 'the opening'."""
        return self.name("subject", subject)

    def of(self, subject: str) -> str:
        """'of the left leaf'."""
        return self.name("of", subject)

    def the(self, subject: str) -> str:
        """'the left leaf'."""
        return self.name("the", subject)

    def quantity(self, quantity: str) -> str:
        """The full name of a quantity: 'hold open time'."""
        return self.name("quantity", quantity)

    def reading(self, subject: str | None, quantity: str, value: Decimal, unit: str) -> str:
        """'left leaf, opening time, six point two seconds'."""
        parts = [self.quantity(quantity), self.measure(value, unit)]
        return ", ".join([self.subject(subject), *parts] if subject else parts)

    def listed(self, items: list[str], last: str = "or") -> str:
        """'left, right or both'; ``last`` names the word before the last item."""
        if len(items) < 2:
            return "".join(items)
        return f"{', '.join(items[:-1])} {self.name('word', last)} {items[-1]}"


def sentence(text: str) -> str:
    """The text with a capital and a full stop; empty text stays empty."""
    text = text.strip()
    if not text:
        return ""
    return text[0].upper() + text[1:] + ("" if text[-1] in ".?!" else ".")


def languages() -> tuple[str, ...]:
    """The languages that ship with the program, by their two letters."""
    return tuple(sorted(file.parent.name for file in data_folder("grammars").glob(f"*/{FILES[0]}")))


@cache
def wording(language: str = ENGLISH) -> Wording:
    """The words of a shipped language. Raises WordingError with file and line."""
    if language not in languages():
        raise WordingError(
            f"there is no language '{language}'", way_out=nearest(language, languages())
        )
    names: dict[str, dict[str, Any]] = {table: {} for table in TABLES}
    sentences: dict[str, Any] = {}
    for file in FILES:
        path = data_folder("grammars") / language / file
        source = TomlSource(path.read_text(encoding="utf-8"), path, WordingError)
        for table, entries in source.data.items():
            if table == "say":
                sentences |= entries
            elif table in FILE_TABLES:
                names[table] |= entries
            else:
                raise source.fault(
                    f"unknown table '{table}'", table, way_out=nearest(table, (*FILE_TABLES, "say"))
                )
    for quantity, facts in QUANTITIES.items():
        name = quantity_words(quantity, language).name
        names["quantity"][quantity] = names["rule"][facts.spoken] = name
    return Wording(language, names, sentences)


def placeholders(text: str) -> frozenset[str]:
    """The names of the values that belong into a sentence."""
    return frozenset(name for _, name, _, _ in Formatter().parse(text) if name is not None)
