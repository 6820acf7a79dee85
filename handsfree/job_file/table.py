"""Typed access to a TOML table; an unsuitable value is reported with its line."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from enum import StrEnum
from typing import Any, Protocol, TypeVar

from handsfree.errors import BadValue, HandsfreeError
from handsfree.job.job import UnitFamily
from handsfree.job.quantity import ValueRange
from handsfree.job.unit import Family, Measure, Unit, parse_measure
from handsfree.toml_source import nearest

E = TypeVar("E", bound=StrEnum)


class Source(Protocol):
    """The origin of a job's tables (``data``): a file, or a row of a list."""

    data: dict[str, Any]

    def fault(
        self,
        message: str,
        table: str = "",
        nth: int = 0,
        key: str | None = None,
        way_out: str | None = None,
    ) -> HandsfreeError:
        """Builds an error that names the place of a table or key."""
        ...


class Table:
    """One table of a file; an unsuitable value is reported with its line."""

    def __init__(
        self, source: Source, name: str, nth: int, values: dict[str, Any], keys: tuple[str, ...]
    ) -> None:
        self._source, self._name, self._nth, self._values = source, name, nth, values
        for key in values:
            if key not in keys:
                raise self.fault(f"unknown key '{key}' in [{name}]", key, nearest(key, keys))

    def __contains__(self, key: str) -> bool:
        return key in self._values

    def tables(
        self, name: str, nth: int, keys: tuple[str, ...], *, many: bool
    ) -> tuple[Table, ...]:
        """The nested tables with that name; ``nth`` is the number of such tables before them."""
        short = name.rpartition(".")[2]
        found = self._values.get(short, [] if many else None)
        rows = found if many else [found] if found is not None else []
        if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
            header = f"[[{name}]]" if many else f"[{name}]"
            raise self.fault(f"'{short}' is not a table", short, f"begin it with a line {header}")
        return tuple(
            Table(self._source, name, nth + index, row, keys) for index, row in enumerate(rows)
        )

    def fault(
        self, message: str, key: str | None = None, way_out: str | None = None
    ) -> HandsfreeError:
        """Builds an error of this file at the line of a key or of the table."""
        return self._source.fault(message, self._name, self._nth, key, way_out)

    def text(self, key: str, default: str | None = None) -> str:
        """A text; it must be present unless there is a default."""
        value = self._values.get(key, default)
        if value is None:
            raise self.fault(f"'{key}' is missing in [{self._name}]", way_out=f'add {key} = "..."')
        if not isinstance(value, str) or (default is None and not value.strip()):
            raise self.fault(f"'{key}' is not text", key, f'write {key} = "..."')
        return value

    def flag(self, key: str) -> bool:
        """True or false; the default is false."""
        value = self._values.get(key, False)
        if not isinstance(value, bool):
            raise self.fault(f"'{key}' is neither true nor false", key, f"write {key} = true")
        return value

    def day(self, key: str) -> str:
        """A day as 'YYYY-MM-DD'; '' if the key is missing."""
        value = self._values.get(key, "")
        written = str(value) if type(value) in (str, date) else ""
        if key in self._values:
            try:
                return date.fromisoformat(written).isoformat()
            except ValueError:
                way_out = f"write {key} = 2026-12-01: year, month, day"
                raise self.fault(f"'{key}' is not a day", key, way_out) from None
        return ""

    def word(self, key: str, known: tuple[str, ...], default: str | None = None) -> str:
        """A word from a list."""
        value = self.text(key, default)
        if value not in known:
            raise self.fault(f"unknown {key} '{value}'", key, nearest(value, known))
        return value

    def kind(self, key: str, kind: type[E], default: E | None = None) -> E:
        """A member of an enumeration; 'same way' and 'same_way' are equal."""
        known = tuple(member.replace("_", " ") for member in kind)
        value = self._values.get(key)
        if isinstance(value, str) and value in tuple(kind):
            return kind(value)
        spoken = default.replace("_", " ") if default is not None else None
        return kind(self.word(key, known, spoken).replace(" ", "_"))

    def maybe(self, key: str, kind: type[E]) -> E | None:
        """A member of an enumeration, or None if the key is missing."""
        return self.kind(key, kind) if key in self._values else None

    def measure(self, key: str, facts: ValueRange, units: UnitFamily) -> Measure | None:
        """A plausible value with its unit, or None if the key is missing."""
        example = f'for example {key} = "{facts.low} {facts.unit}", {facts.plausible_range}'
        measure = self.size(key, facts.family, facts.default_unit(units), example)
        if measure is None:
            return None
        if not facts.plausible(measure):
            raise self.fault(
                f"a {facts.spoken} of {measure} is not plausible",
                key,
                f"{facts.plausible_range}; leave it out if it is unknown",
            )
        return measure

    def size(self, key: str, family: Family, unit: Unit, example: str) -> Measure | None:
        """A value in a unit of the family, or None; ``unit`` is the default unit."""
        if key not in self._values:
            return None
        value = self._values[key]
        if isinstance(value, bool) or not isinstance(value, str | int | Decimal):
            raise self.fault(f"'{key}' is not a number with a unit", key, example)
        try:
            return parse_measure(str(value), family, unit)
        except BadValue as error:
            raise self.fault(error.message, key, error.way_out or example) from error

    def values(self) -> dict[str, Any]:
        """The table's values as written."""
        return dict(self._values)

    def number(self, default: int) -> int:
        """The number of a motor."""
        value = self._values.get("number", default)
        if value not in (1, 2) or isinstance(value, bool):
            raise self.fault(f"a motor cannot have the number {value}", "number", "use 1 or 2")
        return int(value)
