"""Reads visits for the ledger, many of them on every core of the machine."""

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
Came = Literal["added", "replaced", "unchanged", "older", "diverged", "broken"]
REFUSED = ("diverged", "broken")
"""What did not get in because something is wrong with it."""


class Added(NamedTuple):
    """What came of a folder; ``why`` is one line for what did not get in."""

    folder: Path
    came: Came
    why: str = ""


class Taken(NamedTuple):
    """A visit that was read: its rows, and the hash of every line of its journal."""

    folder: Path
    rows: VisitRows
    hashes: frozenset[str]


def take(folder: Path) -> Taken | Added:
    """Reads a visit; what is broken is told, and not taken."""
    try:
        found = scan_folder(folder)
        verification = verified(folder, found)
        if verification.broken is not None:
            broken = verification.broken
            return Added(folder, "broken", f"line {broken.line}: {broken.what}")
        visit = record_of(found.events, verification)
        hashes = [*(event.prev for event in found.events[1:]), found.head.sha256]
        return Taken(folder, visit_rows(visit, hashes[0], str(folder)), frozenset(hashes))
    except HandsfreeError as error:
        return Added(folder, "broken", error.message)
    except Exception as error:  # whatever a journal from elsewhere holds, the others go in
        _LOG.debug("%s", folder, exc_info=True)
        return Added(folder, "broken", f"it cannot be read: {type(error).__name__}")


_FEW = 100
"""So many are read before others are asked to help: to start one takes half a second."""
_PIECE = 16
"""Visits that are handed over at once."""


def take_all(folders: Iterable[Path]) -> Iterator[Taken | Added]:
    """Reads visits in their order; where they are many, in a process for each core.

    A process that dies raises BrokenProcessPool, and nothing of its visits is told.
    """
    waiting = iter(folders)
    for folder in islice(waiting, _FEW):
        yield take(folder)
    first = list(islice(waiting, _PIECE))
    cores = os.cpu_count() or 1
    if not first or cores == 1:
        yield from map(take, (*first, *waiting))
        return
    # A fresh process each: one that is forked would share the database's connection.
    fresh = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(cores, mp_context=fresh) as others:
        pieces: deque[Future[list[Taken | Added]]] = deque()
        piece = first
        while piece or pieces:
            while piece and len(pieces) < 2 * cores:
                pieces.append(others.submit(_take_piece, piece))
                piece = list(islice(waiting, _PIECE))
            yield from pieces.popleft().result()


def _take_piece(folders: list[Path]) -> list[Taken | Added]:
    return [take(folder) for folder in folders]
