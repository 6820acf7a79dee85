"""The office's list in memory, which watches the folder and rereads changed visits."""

from __future__ import annotations

import logging
import threading
import time
from collections.abc import Iterable
from pathlib import Path

from handsfree.errors import JournalError
from handsfree.journal.hash_chain import CRASH, Break, Scan
from handsfree.journal.reader import Verification, verified
from handsfree.office.row_cache import CachedRow, RowCache
from handsfree.office.visit_folders import Place, place_of, places
from handsfree.office.visit_list import Listed
from handsfree.office.visit_row import VisitRow, row_of, unreadable_row
from handsfree.office.visit_snapshot import steady_scan
from handsfree.visit_record.visit_record import record_of

_LOG = logging.getLogger("handsfree.office")
_APART_S = 3.0
"""Shortest interval between two scans of the folder (s)."""
_AFTER_S = 0.4
_AT_ONCE = 8
"""Largest number of rows reread before a page is shown; the rest follow in the background."""
_BATCH = 100


class Index:
    """The visits below a folder, each with its row.

    ``start`` loads the cached rows and scans the folder in a thread. Every method may be called
    from any thread.
    """

    def __init__(self, root: Path, kept: Path | None = None) -> None:
        self.root = root
        self._file = RowCache(kept)
        self._lock = threading.Lock()
        self._places: dict[str, Place] = {}
        self._rows: dict[str, CachedRow] = {}
        self._listed: tuple[Listed, ...] | None = None
        self._wake = threading.Event()
        self._ended = threading.Event()
        self._looked_s = float("-inf")
        self._thread: threading.Thread | None = None

    def start(self) -> None:
        """Loads the cached rows and starts scanning the folder in the background."""
        for row in self._file.all():
            place = Place(row.id, self.root / row.name, row.name, row.seen)
            self._places[row.id], self._rows[row.id] = place, row
        self._thread = threading.Thread(target=self._follow, name="office index", daemon=True)
        self._wake.set()
        self._thread.start()

    def close(self) -> None:
        """Stops the thread and closes the cache."""
        self._ended.set()
        self._wake.set()
        if self._thread is not None:
            self._thread.join(timeout=10)
        self._file.close()

    def rows(self) -> tuple[Listed, ...]:
        """All rows known now; triggers a scan if the last one is old."""
        if time.monotonic() - self._looked_s > _APART_S:
            self._wake.set()
        with self._lock:
            if self._listed is None:
                self._listed = tuple(Listed(k.id, k.row) for k in self._rows.values())
            return self._listed

    @property
    def looked(self) -> bool:
        """True if the whole folder has been scanned since the start."""
        return self._looked_s > float("-inf")

    def unread(self) -> int:
        """Number of visits that have no row yet."""
        with self._lock:
            return len(self._places.keys() - self._rows.keys())

    def folder(self, visit_id: str) -> Path | None:
        """The folder of a visit; None for an unknown id."""
        place = self._place(visit_id)
        return None if place is None else place.folder

    def row(self, visit_id: str) -> VisitRow | None:
        """The current row of a visit; None for an unknown id."""
        self.fresh((visit_id,))
        with self._lock:
            kept = self._rows.get(visit_id)
        return None if kept is None else kept.row

    def fresh(self, ids: Iterable[str]) -> bool:
        """Rereads the rows whose journals have changed; returns True if there were any."""
        changed = False
        for visit_id in ids:
            place = self._place(visit_id)
            with self._lock:
                kept = self._rows.get(visit_id)
            if place is None:
                changed = changed or kept is not None
                self._let_go({visit_id})
            elif kept is None or kept.seen != place.seen:
                self._take([_read(place, kept)])
                changed = True
        return changed

    def fresh_page(self, rows: Iterable[Listed]) -> bool:
        """Does the same as ``fresh`` for the rows of a page, a few at most."""
        stale: list[str] = []
        for each in rows:
            place = self._place(each.id)
            with self._lock:
                kept = self._rows.get(each.id)
            if place is None or kept is None or kept.seen != place.seen:
                stale.append(each.id)
        if len(stale) > _AT_ONCE:
            self._wake.set()
        return self.fresh(stale[:_AT_ONCE])

    def found_broken(self, visit_id: str, problem: str) -> None:
        """Marks a visit as broken after a full check found what the quick check of the list
        missed.
        """
        with self._lock:
            kept = self._rows.get(visit_id)
        if kept is not None and not kept.row.problem:
            row = kept.row.model_copy(update={"problem": problem, "standing": "broken"})
            self._take([kept._replace(row=row)])

    def look(self) -> None:
        """Scans the folder and reads new and changed visits."""
        there = {place.id: place for place in places(self.root)}
        with self._lock:
            self._places = there
            gone = self._rows.keys() - there.keys()
            stale = [
                (place, kept)
                for place in there.values()
                if (kept := self._rows.get(place.id)) is None or kept.seen != place.seen
            ]
        self._let_go(gone)
        for start in range(0, len(stale), _BATCH):
            read = []
            for place, kept in stale[start : start + _BATCH]:
                if self._ended.is_set():
                    break
                read.append(_read(place, kept))
            self._take(read)
        self._looked_s = time.monotonic()

    def _follow(self) -> None:
        while not self._ended.is_set():
            self._wake.wait()
            # Requests are answered first, because scanning thousands of folders takes a core.
            if self.looked and self._ended.wait(_AFTER_S):
                return
            self._wake.clear()
            if self._ended.is_set():
                return
            try:
                self.look()
            except Exception:  # the list keeps its rows and scans again later
                _LOG.exception("the folder could not be looked at")

    def _place(self, visit_id: str) -> Place | None:
        with self._lock:
            known = self._places.get(visit_id)
        return None if known is None else place_of(self.root, known.name)

    def _take(self, read: list[CachedRow]) -> None:
        if not read:
            return
        with self._lock:
            self._rows.update((kept.id, kept) for kept in read)
            self._listed = None
        self._file.keep(read)

    def _let_go(self, gone: Iterable[str]) -> None:
        gone = set(gone)
        if not gone:
            return
        with self._lock:
            for each in gone:
                self._rows.pop(each, None)
            self._listed = None
        self._file.keep((), gone)


def _read(place: Place, before: CachedRow | None) -> CachedRow:
    """The row of a visit, read from its journal without verifying its clips.

    If it was broken ``before``, its clips are verified too, so that no visit is cleared without a
    full check.
    """
    try:
        found = steady_scan(place.folder)
        doubted = before is not None and before.row.problem
        verification = verified(place.folder, found) if doubted else _chain_only(found)
        row = row_of(record_of(found.events, verification), place.name)
    except JournalError as error:
        row = unreadable_row(place.name, error.message)
    except Exception as error:  # whatever a journal holds, the list keeps working
        _LOG.debug("%s", place.folder, exc_info=True)
        row = unreadable_row(place.name, f"it cannot be read: {type(error).__name__}")
    return CachedRow(place.id, place.name, place.seen, row)


def _chain_only(found: Scan) -> Verification:
    """Verifies only a journal's chain, not its clips."""
    broken = found.broken
    if broken is None and found.torn:
        reason = f"the line is unfinished, {len(found.torn)} bytes"
        broken = Break(line=found.head.seq + 1, reason=reason, meaning=CRASH)
    return Verification(
        whole=broken is None,
        lines=len(found.events),
        clips=0,
        recovered=0,
        head=found.head.sha256 if broken is None else None,
        broken=broken,
    )
