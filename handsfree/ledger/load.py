"""Loads visits into the ledger, several per transaction; loading twice changes nothing."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from itertools import islice
from pathlib import Path

from handsfree.errors import JournalError
from handsfree.journal.reader import JOURNAL
from handsfree.ledger.database import Ledger, make_anew, open_ledger
from handsfree.ledger.read_visits import AddResult, ReadVisit, read_all
from handsfree.ledger.upsert import upsert

TOGETHER = 16
"""Visits per transaction, because a transaction costs more than a visit."""


def visits_below(folders: Iterable[Path]) -> Iterator[Path]:
    """Every folder with a journal at or below these, each once, in order.

    Linked folders are not followed. Raises JournalError for a folder that does not exist or holds
    no visit.
    """
    seen: set[Path] = set()
    for folder in folders:
        if not folder.is_dir():
            raise JournalError(
                "there is no such folder", file=folder, way_out="name a visit, or a folder of them"
            )
        found = False
        for place, inner, files in os.walk(folder):
            inner.sort()
            if JOURNAL in files:
                found = True
                inner.clear()
                visit = Path(place).resolve()
                if visit not in seen:
                    seen.add(visit)
                    yield visit
        if not found:
            raise JournalError(
                "there is no visit in this folder",
                file=folder,
                way_out="name a visit, or a folder of them",
            )


def add(ledger: Ledger, folders: Iterable[Path]) -> Iterator[AddResult]:
    """Loads every visit at or below these folders, several per transaction.

    Raises LedgerError if the ledger fails: only the visits reported so far are in it.
    """
    taken = read_all(visits_below(folders))
    while piece := list(islice(taken, TOGETHER)):
        whole = [each for each in piece if isinstance(each, ReadVisit)]
        came: Iterator[AddResult] = iter(())
        if whole:
            with ledger.transaction() as connection:
                came = iter(upsert(connection, whole))
        for each in piece:
            yield next(came) if isinstance(each, ReadVisit) else each


def rebuild(url: str | None, folders: Iterable[Path]) -> list[AddResult]:
    """Rebuilds the ledger from journals in one transaction, so that nobody sees half of it.

    Every journal is read before anything is dropped. Raises LedgerError and leaves the ledger
    unchanged.
    """
    read = list(read_all(visits_below(folders)))
    came: list[AddResult] = []
    with open_ledger(url, any_version=True) as ledger, ledger.transaction(alone=True) as connection:
        make_anew(connection)
        for start in range(0, len(read), TOGETHER):
            piece = read[start : start + TOGETHER]
            whole = [each for each in piece if isinstance(each, ReadVisit)]
            results = iter(upsert(connection, whole))
            came += [next(results) if isinstance(each, ReadVisit) else each for each in piece]
    return came
