"""Reads visits for the ledger, large numbers of them on all cores."""

from __future__ import annotations

import logging
import multiprocessing
import os
from collections import deque
from collections.abc import Iterable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from itertools import islice
from pathlib import Path
from typing import Literal, NamedTuple

from handsfree.errors import HandsfreeError
from handsfree.journal.reader import scan_folder, verified
from handsfree.ledger.visit_rows import VisitRows, visit_rows
from handsfree.visit_record.visit_record import record_of

_LOG = logging.getLogger("handsfree.ledger")
AddOutcome = Literal["added", "replaced", "unchanged", "older", "diverged", "broken"]
REFUSED = ("diverged", "broken")
"""Outcomes of visits that were not loaded because something is wrong with them."""


class AddResult(NamedTuple):
    """The outcome for a folder; ``why`` is one line if it was not loaded."""

    folder: Path
    came: AddOutcome
    why: str = ""


class ReadVisit(NamedTuple):
    """A visit read for the ledger: its rows and the hash of every line of its journal."""

    folder: Path
    rows: VisitRows
    hashes: frozenset[str]


def read_visit(folder: Path) -> ReadVisit | AddResult:
    """Reads a visit; a broken one gives an AddResult with the reason."""
    try:
        found = scan_folder(folder)
        verification = verified(folder, found)
        if verification.broken is not None:
            broken = verification.broken
            return AddResult(folder, "broken", f"line {broken.line}: {broken.what}")
        visit = record_of(found.events, verification)
        hashes = [*(event.prev for event in found.events[1:]), found.head.sha256]
        return ReadVisit(folder, visit_rows(visit, hashes[0], str(folder)), frozenset(hashes))
    except HandsfreeError as error:
        return AddResult(folder, "broken", error.message)
    except Exception as error:  # whatever a foreign journal holds, the other visits are loaded
        _LOG.debug("%s", folder, exc_info=True)
        return AddResult(folder, "broken", f"it cannot be read: {type(error).__name__}")


_FEW = 100
"""Most visits that are read without starting processes, which takes half a second each."""
_PIECE = 16
"""Visits handed to a process at once."""


def read_all(folders: Iterable[Path]) -> Iterator[ReadVisit | AddResult]:
    """Reads visits in order; large numbers in one process per core.

    A process that dies raises BrokenProcessPool, and nothing about its visits is reported.
    """
    waiting = iter(folders)
    for folder in islice(waiting, _FEW):
        yield read_visit(folder)
    first = list(islice(waiting, _PIECE))
    cores = os.cpu_count() or 1
    if not first or cores == 1:
        yield from map(read_visit, (*first, *waiting))
        return
    # Fresh processes: a forked one would share the database's connection.
    fresh = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(cores, mp_context=fresh) as others:
        pieces: deque[Future[list[ReadVisit | AddResult]]] = deque()
        piece = first
        while piece or pieces:
            while piece and len(pieces) < 2 * cores:
                pieces.append(others.submit(_take_piece, piece))
                piece = list(islice(waiting, _PIECE))
            yield from pieces.popleft().result()


def _take_piece(folders: list[Path]) -> list[ReadVisit | AddResult]:
    return [read_visit(folder) for folder in folders]
