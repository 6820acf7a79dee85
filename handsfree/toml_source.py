"""Reads TOML and finds the line of each table and key.

``tomllib`` keeps no positions, but an error must name its line. So the text is scanned once more.
"""

from __future__ import annotations

import difflib
import errno
import re
import stat
import tomllib
from collections.abc import Callable, Iterable
from decimal import Decimal
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from handsfree.errors import HandsfreeError

_HEADER = re.compile(r"^\s*\[{1,2}\s*([A-Za-z0-9_.-]+)\s*\]{1,2}\s*(?:#.*)?$")
_KEY = re.compile(r"^\s*\"?([A-Za-z0-9_.-]+)\"?\s*=")
_NAMED_KEY = re.compile(r"([\w.]+): ")
_NUMBER = re.compile(r"[0-9][0-9_]*(?:\.[0-9_]+)?(?:[eE]([-+]?[0-9_]+))?")
_MOST_DIGITS = 100
MOST_BYTES = 4_000_000
"""Size limit of a data file, in bytes; files written by hand are far smaller."""
_POSITION = re.compile(r"\s*\(at (?:line (\d+), column \d+|end of document)\)$")


def file_bytes(path: Path, most: int = MOST_BYTES) -> bytes:
    """Reads a regular file of at most ``most`` bytes.

    A name in a file or a journal may refer to a pipe that never ends. Raises OSError.
    """
    if not stat.S_ISREG(path.stat().st_mode):
        raise OSError(errno.EINVAL, "it is not a regular file", str(path))
    with path.open("rb") as file:
        content = file.read(most + 1)
    if len(content) > most:
        raise OSError(errno.EFBIG, f"it is larger than {most / 1e6:g} MB", str(path))
    return content


class TooLargeToml(ValueError):
    """TOML text that would exhaust memory or time; ``line`` counts from 1."""

    def __init__(self, message: str, line: int) -> None:
        super().__init__(message)
        self.line = line


def parse_toml(text: str) -> dict[str, Any]:
    """Parses a TOML text; floats become Decimal, and a byte order mark is skipped.

    Raises TOMLDecodeError, and TooLargeToml if a number has too many digits or the nesting is too
    deep.
    """
    text = text.removeprefix("\ufeff")
    try:
        data = tomllib.loads(text, parse_float=Decimal)
    except RecursionError:
        deepest = max(enumerate(text.splitlines(), 1), key=lambda each: each[1].count("["))[0]
        raise TooLargeToml("the nesting here is too deep", deepest) from None
    except tomllib.TOMLDecodeError:
        raise
    except ValueError:  # more digits than Python reads
        raise TooLargeToml("a number here has too many digits", _beyond(text)) from None
    if _holds_too_much(data):
        raise TooLargeToml("a number here has too many digits", _beyond(text))
    return data


def _holds_too_much(value: Any) -> bool:
    if isinstance(value, dict):
        return any(map(_holds_too_much, value.values()))
    if isinstance(value, list):
        return any(map(_holds_too_much, value))
    if isinstance(value, Decimal):
        # Infinity and NaN are reported by the caller that expects a number.
        return value.is_finite() and _too_long(len(value.as_tuple().digits), value.adjusted())
    return isinstance(value, int) and abs(value) >= 10**_MOST_DIGITS


def _too_long(digits: int, exponent: int) -> bool:
    return digits > _MOST_DIGITS or abs(exponent) > _MOST_DIGITS


def _beyond(text: str) -> int:
    """The first line with a number that has too many digits."""
    lines = text.splitlines()
    for number, line in enumerate(lines, start=1):
        for match in _NUMBER.finditer(line):
            exponent = (match[1] or "0").replace("_", "").lstrip("+")
            long = len(exponent) > len(str(_MOST_DIGITS)) + 1
            if long or _too_long(len(match[0]), int(exponent)):
                return number
    return max(len(lines), 1)


class TomlSource:
    """The parsed ``data`` of a TOML text, and the line of every key.

    Floats are Decimal. Raises ``error`` with file and line if the text is not valid TOML.
    """

    def __init__(self, text: str, file: Path | str, error: type[HandsfreeError]) -> None:
        self.file = file
        self.text = text = text.removeprefix("\ufeff")
        self._lines = text.splitlines()
        self._error = error
        try:
            self.data: dict[str, Any] = parse_toml(text)
        except TooLargeToml as fault:
            raise error(
                str(fault), file=file, line=fault.line, way_out="write what was measured"
            ) from fault
        except tomllib.TOMLDecodeError as fault:
            position = _POSITION.search(str(fault))
            line = int(position[1]) if position and position[1] else max(len(self._lines), 1)
            reason = _POSITION.sub("", str(fault))
            raise error(
                f"is not valid TOML: {reason[:1].lower()}{reason[1:]}",
                file=file,
                line=line,
                way_out="write key = value, and put text in double quotes",
            ) from fault

    def line(self, table: str = "", nth: int = 0, key: str | None = None) -> int:
        """The line (from 1) of a key in the ``nth`` table of that name (from 0).

        If the key is missing, the line of the table. ``table`` is '' for the keys above the first
        table.
        """
        current, seen, found = "", -1, 1
        inside = table == ""
        for number, text in enumerate(self._lines, start=1):
            header = _HEADER.match(text)
            if header:
                current = header[1]
                seen += current == table
                inside = current == table and seen == nth
                if inside:
                    found = number
            elif inside and key is not None and (match := _KEY.match(text)) and match[1] == key:
                return number
        return found

    def fault(
        self,
        message: str,
        table: str = "",
        nth: int = 0,
        key: str | None = None,
        way_out: str | None = None,
    ) -> HandsfreeError:
        """Builds an error for this file at the line of a table or key."""
        line = self.line(table, nth, key)
        return self._error(message, file=self.file, line=line, way_out=way_out)

    def refused(
        self,
        error: ValidationError,
        table: str = "",
        nth: int = 0,
        known: Callable[[tuple[str, ...]], Iterable[str]] | None = None,
    ) -> HandsfreeError:
        """Builds the error for the first fault of a record read from a table, at the line of its
        key.

        ``known`` lists the keys allowed in place of an unknown one, for the way out.
        """
        # A misspelled key is also a missing one: the misspelling is reported.
        first = min(error.errors(), key=lambda one: one["type"] == "missing")
        where: tuple[str | int, ...] = first["loc"]
        reason = first["msg"].removeprefix("Value error, ")
        reason = reason[:1].lower() + reason[1:]
        way_out = None
        if first["type"] == "missing":
            reason = "is missing"
        elif first["type"] == "extra_forbidden":
            reason = "no such key"
            keys = tuple(str(part) for part in where)
            way_out = nearest(keys[-1], known(keys)) if known else None
        elif named := _NAMED_KEY.match(reason):  # a rule about several keys names one
            where, reason = (*where, *named[1].split(".")), reason[named.end() :]
        message = f"{'.'.join(map(str, where))}: {reason}" if where else reason
        line = self._line_of(table, nth, where)
        return self._error(message, file=self.file, line=line, way_out=way_out)

    def _line_of(self, table: str, nth: int, where: tuple[str | int, ...]) -> int:
        """The line of the deepest existing table or key on a path."""
        whole = table, nth
        lines = [self.line(*whole)]
        for at, part in enumerate(where):
            rest = ".".join(str(each) for each in where[at:] if not isinstance(each, int))
            lines += [self.line(*whole, rest), self.line(table, nth, rest)]
            lines.append(self.line(table, nth, str(part)))
            if isinstance(part, int):
                nth = part
            else:
                table, nth = f"{table}.{part}".lstrip("."), 0
            lines.append(self.line(table, nth))
        return max(lines)


def nearest(word: object, known: Iterable[str]) -> str:
    """The way out for an unknown word: the closest known one, or all of them."""
    words = list(known)
    near = difflib.get_close_matches(str(word), words, n=1)
    return f"did you mean '{near[0]}'?" if near else f"known: {', '.join(words)}"
