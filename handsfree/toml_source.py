"""A TOML text that knows on which line each table and key stands.

``tomllib`` keeps no positions, and an error that names no line sends a tradesperson
searching; so the line is found by scanning the text once more.
"""

from __future__ import annotations

import difflib
import re
import tomllib
from collections.abc import Iterable
from decimal import Decimal
from pathlib import Path
from typing import Any

from handsfree.errors import HandsfreeError

_HEADER = re.compile(r"^\s*\[{1,2}\s*([A-Za-z0-9_.-]+)\s*\]{1,2}\s*(?:#.*)?$")
_KEY = re.compile(r"^\s*\"?([A-Za-z0-9_-]+)\"?\s*=")
_POSITION = re.compile(r"\s*\(at (?:line (\d+), column \d+|end of document)\)$")


class TomlSource:
    """The parsed ``data`` of a TOML text, and the lines that it came from.

    Numbers with a point are Decimal. Raises ``error`` with file and line when the
    text is no TOML.
    """

    def __init__(self, text: str, file: Path | str, error: type[HandsfreeError]) -> None:
        self.file = file
        self.text = text
        self._lines = text.splitlines()
        self._error = error
        try:
            self.data: dict[str, Any] = tomllib.loads(text, parse_float=Decimal)
        except tomllib.TOMLDecodeError as fault:
            position = _POSITION.search(str(fault))
            line = int(position[1]) if position and position[1] else max(len(self._lines), 1)
            reason = _POSITION.sub("", str(fault))
            raise error(
                f"is no valid TOML: {reason[:1].lower()}{reason[1:]}",
                file=file,
                line=line,
                way_out="a key is followed by = and a value, and text stands in double quotes",
            ) from fault

    def line(self, table: str = "", nth: int = 0, key: str | None = None) -> int:
        """The line (from 1) of a key in the ``nth`` table of that name (from 0).

        The table's own line when it has no such key; ``table`` is '' for the keys
        above every table.
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
        """An error of this file, at the line of a table or key."""
        line = self.line(table, nth, key)
        return self._error(message, file=self.file, line=line, way_out=way_out)


def nearest(word: object, known: Iterable[str]) -> str:
    """The way out of an unknown word: the known one that is nearest to it, or all of them."""
    words = list(known)
    near = difflib.get_close_matches(str(word), words, n=1)
    return f"did you mean '{near[0]}'?" if near else f"known: {', '.join(words)}"
