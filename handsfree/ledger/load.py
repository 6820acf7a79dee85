"""Puts visits into the ledger: a few in one transaction, twice without a change."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from itertools import islice
from pathlib import Path

from handsfree.errors import JournalError
from handsfree.journal.reader import JOURNAL
from handsfree.ledger.database import Ledger, make_anew, open_ledger
from handsfree.ledger.read_visits import Added, Taken, take_all
from handsfree.ledger.upsert import put

TOGETHER = 16
"""Visits in one transaction: a database spends more on a transaction than on a visit."""


def visits_below(folders: Iterable[Path]) -> Iterator[Path]:
    """Every folder with a journal, at or below these, each once, in order.

    A folder that is only linked to is not gone into. Raises JournalError for one that is not
    there or holds no visit.
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


def add(ledger: Ledger, folders: Iterable[Path]) -> Iterator[Added]:
    """Puts every visit at or below these folders in, a few to a transaction.

    Raises LedgerError when the ledger fails: what was told before is in, and nothing else.
    """
    taken = take_all(visits_below(folders))
    while piece := list(islice(taken, TOGETHER)):
        whole = [each for each in piece if isinstance(each, Taken)]
        came: Iterator[Added] = iter(())
        if whole:
            with ledger.transaction() as connection:
                came = iter(put(connection, whole))
        for each in piece:
            yield next(came) if isinstance(each, Taken) else each


def rebuild(url: str | None, folders: Iterable[Path]) -> list[Added]:
    """Makes the ledger anew from journals, in one transaction: nobody sees half of it.

    Every journal is read before anything is dropped. Raises LedgerError; then it is as it was.
    """
    read = list(take_all(visits_below(folders)))
    came: list[Added] = []
    with open_ledger(url, any_version=True) as ledger, ledger.transaction(alone=True) as connection:
        make_anew(connection)
        for start in range(0, len(read), TOGETHER):
            piece = read[start : start + TOGETHER]
            put_in = iter(put(connection, [each for each in piece if isinstance(each, Taken)]))
            came += [next(put_in) if isinstance(each, Taken) else each for each in piece]
    return came
