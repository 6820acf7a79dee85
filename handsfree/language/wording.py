"""The words of one language: names, digits and sentences from its wording files.

The code contains no spoken text: it asks for a sentence by name and passes the values to insert.
docs/languages.md explains how to write a language.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from functools import cache, cached_property
from string import Formatter
from typing import Any

from handsfree.data import data_folder
from handsfree.errors import BadValue, WordingError
from handsfree.job.quantity import QUANTITIES, quantity_words
from handsfree.toml_source import TomlSource, nearest

ENGLISH = "en"
_SIXTEENTHS = 16
"""Marks of a tape in an inch."""
_MOST_IN_WORDS = 9999
"""Largest whole number that is said as people say it; a larger one is said digit by digit."""
FILES = ("wording.toml", "findings.toml")
FILE_TABLES = (
    *("voice", "digit", "unit", "subject", "of", "the", "family", "rule"),
    *("symbol", "short", "alike", "another", "misheard", "moment", "word"),
    *("fault", "work", "part", "cardinal", "counted", "feminine", "fraction"),
    *("letter", "spelled_after", "condition", "calendar"),
)
TABLES = ("quantity", *FILE_TABLES)
"""The tables of names; the names of quantities come from quantities.toml."""


class Wording:
    """One language: ``names`` are its tables of names, ``sentences`` its sentences."""

    def __init__(
        self, language: str, names: dict[str, dict[str, Any]], sentences: dict[str, Any]
    ) -> None:
        self.language = language
        self.names = names
        self.sentences = sentences

    def say(self, name: str, /, *, count: int | Decimal | None = None, **values: object) -> str:
        """Returns a sentence with its values inserted; ``count`` selects singular or plural.

        Raises WordingError if the language lacks the sentence or a value is missing.
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
                way_out="correct its wording files",
            ) from error

    def name(self, table: str, key: str) -> str:
        """Looks up a name: ``name("quantity", "opening_time")`` is 'opening time'; default is the
        key.
        """
        return str(self.names[table].get(key, key.replace("_", " ")))

    @property
    def voices(self) -> tuple[str, ...]:
        """Language tags of suitable voices, best first; empty for the computer's default voice."""
        return tuple(self.names["voice"].get("tags", ()))

    @property
    def phrases_command(self) -> str:
        """The command that lists what can be said in the language."""
        more = "" if self.language == ENGLISH else f" --language {self.language}"
        return f"handsfree phrases{more}"

    # --- numbers and units

    def number(self, value: Decimal, unit: str = "", *, spelled: bool = False) -> str:
        """Speaks a number as it is read back: 'six point two zero' for 6.20, 'thirty six' for 36.

        A decimal is said digit by digit, its point as 'point' (FAA AIM 4-2-8, ICAO Doc 9432). So is
        a whole number that sounds like another ('one five'), and any that is ``spelled``. Raises
        BadValue for a negative or infinite value, which cannot be said.
        """
        if not value.is_finite() or value.is_signed():
            raise BadValue(f"{value} has no spoken form")
        written = f"{value:f}"
        if spelled or not written.isdecimal() or self._sounds_like_another(int(written)):
            return self.digits(written) if written != "1" else self.cardinal(1, unit)
        return self.cardinal(int(written), unit)

    def _sounds_like_another(self, number: int) -> bool:
        """Whether a number below a hundred becomes another by a word that sounds alike."""
        alike = self.names["alike"]
        if number >= 100:
            return False
        words = self.cardinal(number).split()
        exchanged = (
            [*words[:place], alike[word], *words[place + 1 :]]
            for place, word in enumerate(words)
            if word in alike
        )
        return any(" ".join(other) in self._to_ninety_nine for other in exchanged)

    @cached_property
    def _to_ninety_nine(self) -> frozenset[str]:
        return frozenset(map(self.cardinal, range(100)))

    def digits(self, written: str) -> str:
        """Speaks a number character by character as written ('6.20', '.5')."""
        spoken = self.names["digit"]
        return " ".join(spoken[character] for character in written)

    def unit(self, unit: str, value: Decimal) -> str:
        """The unit as spoken after a value: 'second' after exactly 'one', else 'seconds'."""
        one, many = self.names["unit"][unit]
        return str(one if f"{value:f}" == "1" else many)

    def units(self, unit: str) -> str:
        """The plural of a unit."""
        return str(self.names["unit"][unit][1])

    def measure(self, value: Decimal, unit: str, *, spelled: bool = False) -> str:
        """A value with its unit: 'six point two seconds', 'thirty six inches'.

        Inches with eighths or sixteenths are spoken as fractions: 35.875 is 'thirty five and seven
        eighths inches'. ``spelled`` is as for number().
        """
        sixteenths = value * _SIXTEENTHS
        if unit == "in" and value % 1 and sixteenths % 1 == 0 and not f"{value:f}".endswith("0"):
            return self.inches(int(sixteenths))
        spoken = self.number(value, unit, spelled=spelled)
        return f"{spoken} {self.unit(unit, value)}".strip()

    def plain_measure(self, value: Decimal, unit: str) -> str:
        """A value that nobody has to check: 'thirty seconds', where a readback spells it."""
        if value % 1:
            return self.measure(value, unit)
        return f"{self.cardinal(int(value), unit)} {self.unit(unit, value)}".strip()

    def inches(self, sixteenths: int) -> str:
        """A length in sixteenths of an inch, as a tape shows it: 'four and a half inches'."""
        whole, part = divmod(sixteenths, _SIXTEENTHS)
        spoken = self.cardinal(whole, "in")
        if not part:
            return self.say("tape_whole", count=whole, whole=spoken)
        fraction = self.name("fraction", str(Fraction(part, _SIXTEENTHS)))
        if not whole:
            half = part == _SIXTEENTHS // 2
            return self.say("tape_half") if half else self.say("tape_small", part=fraction)
        return self.say("tape_part", count=whole, whole=spoken, part=fraction)

    def cardinal(self, number: int, unit: str = "") -> str:
        """A whole number as people say it ('one hundred twenty five'), before its unit if any.

        Above 9,999 digit by digit.
        """
        if number > _MOST_IN_WORDS:
            return self.digits(str(number))
        words = self._in_words(number).split()
        if unit:
            feminine = unit in self.names["feminine"]
            counted = self.names["counted"]
            words = [counted.get(word, (word, word))[feminine] for word in words]
        return " ".join(words)

    def _in_words(self, number: int) -> str:
        names = self.names["cardinal"]
        if (name := names.get(str(number))) is not None:
            return str(name)
        if number > 999:
            thousands, rest = divmod(number, 1000)
            many = self.say("thousands", many=self._in_words(thousands))
            name = str(names["1000"]) if thousands == 1 else many
        elif number > 99:
            hundreds, rest = divmod(number, 100)
            name = str(names.get(f"{hundreds}00+") or names[f"{hundreds}00"])
        else:
            tens, ones = divmod(number, 10)
            return self.say("cardinal", tens=names[str(10 * tens)], ones=names[str(ones)])
        return f"{name} {self._in_words(rest)}" if rest else name

    # --- names

    def subject(self, subject: str) -> str:
        """The name of a subject: 'left leaf'; the opening has its article: 'the opening'."""
        return self.name("subject", subject)

    def of(self, subject: str) -> str:
        """The subject with 'of': 'of the left leaf'."""
        return self.name("of", subject)

    def the(self, subject: str) -> str:
        """The subject with its article: 'the left leaf'."""
        return self.name("the", subject)

    def quantity(self, quantity: str) -> str:
        """The full name of a quantity: 'hold open time'."""
        return self.name("quantity", quantity)

    def reading(
        self,
        subject: str | None,
        quantity: str,
        value: Decimal,
        unit: str,
        *,
        spelled: bool = False,
    ) -> str:
        """A complete reading: 'left leaf, opening time, six point two seconds'."""
        parts = [self.quantity(quantity), self.measure(value, unit, spelled=spelled)]
        return ", ".join([self.subject(subject), *parts] if subject else parts)

    def listed(self, items: list[str], last: str = "or") -> str:
        """A list of items: 'left, right or both'; ``last`` names the word before the last item."""
        if len(items) < 2:
            return "".join(items)
        return f"{', '.join(items[:-1])} {self.name('word', last)} {items[-1]}"


def sentence(text: str) -> str:
    """Capitalizes the text and adds a period; empty text stays empty."""
    text = text.strip()
    if not text:
        return ""
    return text[0].upper() + text[1:] + ("" if text[-1] in ".?!" else ".")


def languages() -> tuple[str, ...]:
    """Languages that ship with the program, by their two-letter codes."""
    return tuple(sorted(file.parent.name for file in data_folder("grammars").glob(f"*/{FILES[0]}")))


@cache
def wording(language: str = ENGLISH) -> Wording:
    """Loads the words of a shipped language. Raises WordingError with file and line."""
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
    """Names of the values to insert into a sentence."""
    return frozenset(name for _, name, _, _ in Formatter().parse(text) if name is not None)
