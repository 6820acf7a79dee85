"""A cache of the list's rows between two starts: an SQLite file that can be deleted at any time."""

from __future__ import annotations

import os
import sqlite3
import threading
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path
from typing import NamedTuple

from pydantic import ValidationError

from handsfree import __version__
from handsfree.office.visit_row import VisitRow

_FORM = f"4 {__version__}"
"""Cache format; rows of another version are read again, as they may be judged differently."""


class CachedRow(NamedTuple):
    """A row, and the fingerprint of its journal's files when it was read."""

    id: str
    name: str
    seen: str
    row: VisitRow


class RowCache:
    """Rows in a file. Without a usable file nothing is cached.

    The journals remain authoritative: a row whose journal has changed is reread.
    """

    def __init__(self, file: Path | None) -> None:
        self._lock = threading.Lock()
        self._rows: sqlite3.Connection | None = None
        if file is not None:
            with suppress(OSError, sqlite3.Error):
                self._rows = _opened(file)

    def all(self) -> list[CachedRow]:
        """Every cached row."""
        found: list[CachedRow] = []
        with self._lock, suppress(sqlite3.Error):
            for name_id, name, seen, row in self._select():
                with suppress(ValidationError):
                    found.append(CachedRow(name_id, name, seen, VisitRow.model_validate_json(row)))
        return found

    def keep(self, rows: Iterable[CachedRow], gone: Iterable[str] = ()) -> None:
        """Stores these rows and deletes those whose ids are ``gone``."""
        with self._lock, suppress(sqlite3.Error):
            if self._rows is None:
                return
            with self._rows:
                self._rows.executemany(
                    "INSERT OR REPLACE INTO rows VALUES (?, ?, ?, ?)",
                    [(k.id, _text(k.name), k.seen, k.row.model_dump_json()) for k in rows],
                )
                self._rows.executemany("DELETE FROM rows WHERE id = ?", [(each,) for each in gone])

    def close(self) -> None:
        """Closes the file."""
        with self._lock:
            if self._rows is not None:
                self._rows.close()
                self._rows = None

    def _select(self) -> Iterable[tuple[str, str, str, str]]:
        if self._rows is None:
            return ()
        return self._rows.execute("SELECT id, name, seen, row FROM rows").fetchall()


def _opened(file: Path) -> sqlite3.Connection:
    """Opens or creates the file; one of another format is emptied."""
    file.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    os.close(os.open(file, os.O_RDWR | os.O_CREAT, 0o600))  # it holds owners' names
    try:
        return _with_table(file)
    except sqlite3.DatabaseError:
        file.unlink()
        os.close(os.open(file, os.O_RDWR | os.O_CREAT, 0o600))
        return _with_table(file)


def _with_table(file: Path) -> sqlite3.Connection:
    rows = sqlite3.connect(file, check_same_thread=False, timeout=1)
    try:
        with rows:
            rows.execute("CREATE TABLE IF NOT EXISTS form (form TEXT)")
            form = rows.execute("SELECT form FROM form").fetchone()
            if form != (_FORM,):
                rows.execute("DROP TABLE IF EXISTS rows")
                rows.execute("DELETE FROM form")
                rows.execute("INSERT INTO form VALUES (?)", (_FORM,))
            rows.execute(
                "CREATE TABLE IF NOT EXISTS rows"
                " (id TEXT PRIMARY KEY, name TEXT, seen TEXT, row TEXT)"
            )
    except sqlite3.Error:
        rows.close()
        raise
    return rows


def _text(name: str) -> str:
    """A folder's name as valid UTF-8; a row with an invalid name is reread at the next start."""
    return os.fsencode(name).decode("utf-8", "replace")
