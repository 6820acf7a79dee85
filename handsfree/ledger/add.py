"""Puts visits into the ledger: each in one transaction, twice without a change."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Table, bindparam, delete, insert, select, update
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.exc import SQLAlchemyError

from handsfree.errors import JournalError
from handsfree.journal.reader import JOURNAL
from handsfree.ledger import tables as t
from handsfree.ledger.ledger import Ledger, make_anew, open_ledger
from handsfree.ledger.take import Added, Came, Taken, take_all
from handsfree.ledger.visit_rows import Row


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
    """Puts every visit at or below these folders in; one transaction each.

    Raises LedgerError when the ledger fails: the visits before are in, this one is not.
    """
    for taken in take_all(visits_below(folders)):
        if isinstance(taken, Taken):
            with ledger.transaction() as connection:
                came = put(connection, taken)
            yield came
        else:
            yield taken


def rebuild(url: str | None, folders: Iterable[Path]) -> list[Added]:
    """Makes the ledger anew from journals, in one transaction: nobody sees half of it.

    Every journal is read before anything is dropped. Raises LedgerError; then it is as it was.
    """
    read = list(take_all(visits_below(folders)))
    with open_ledger(url, any_version=True) as ledger, ledger.transaction(alone=True) as connection:
        make_anew(connection)
        return [put(connection, each) if isinstance(each, Taken) else each for each in read]


def put(connection: Connection, taken: Taken) -> Added:
    """Puts one visit in, in the transaction of the connection."""
    rows, folder = taken.rows, taken.folder
    visit_id = rows.visit["id"]
    _hold(connection, rows.visit["opening_id"])
    known = connection.execute(
        select(t.journals.c.head, t.journals.c.lines).where(t.journals.c.visit_id == visit_id)
    ).first()
    came: Came = "added"
    if known is not None:
        journal = rows.parts[t.journals.name][0]
        if known.head == journal["head"]:
            return Added(folder, "unchanged")
        if known.head not in taken.hashes:
            if journal["lines"] < known.lines:
                return Added(folder, "older", f"the ledger knows {known.lines} lines of this visit")
            why = "it does not go on from the journal of this visit that the ledger knows"
            return Added(folder, "diverged", why)
        came = "replaced"
        for table in t.PARTS:
            connection.execute(delete(table).where(table.c.visit_id == visit_id))
        connection.execute(delete(t.visits).where(t.visits.c.id == visit_id))
    dialect = sqlite if connection.dialect.name == "sqlite" else postgresql
    connection.execute(dialect.insert(t.openings).on_conflict_do_nothing(), [rows.opening])
    connection.execute(insert(t.visits), [rows.visit])
    for table in t.PARTS:
        if rows.parts[table.name]:
            _insert(connection, table, rows.parts[table.name])
    _follow(connection, rows.visit["opening_id"])
    return Added(folder, came)


def _insert(connection: Connection, table: Table, rows: list[Row]) -> None:
    """Many rows of a table; a server takes them in one piece, three times as fast."""
    if connection.dialect.name != "postgresql":
        connection.execute(insert(table), rows)
        return
    driver: Any = connection.connection
    names = list(rows[0])
    columns = ", ".join(f'"{name}"' for name in names)
    try:
        with (
            driver.cursor() as cursor,
            cursor.copy(f'COPY "{table.name}" ({columns}) FROM STDIN') as copy,
        ):
            for row in rows:
                copy.write_row([row[name] for name in names])
    except connection.dialect.loaded_dbapi.Error as error:
        raise SQLAlchemyError(str(error)) from error


def _hold(connection: Connection, opening_id: str) -> None:
    """Two who put visits to one opening in on a server at once go one after the other."""
    if connection.dialect.name == "postgresql":
        connection.exec_driver_sql(
            "SELECT pg_advisory_xact_lock(hashtextextended(%(opening)s, 0))",
            {"opening": opening_id},
        )


def _follow(connection: Connection, opening_id: str) -> None:
    """What an opening knows of its visits: which is the newest, and when the next is due."""
    v = t.visits.c
    mine = select(v.id, v.complete, v.due, v.newest).where(v.opening_id == opening_id)
    ordered = connection.execute(mine.order_by(v.ended.desc(), v.id.desc())).all()
    marks = [
        {"visit": each.id, "is_newest": nth == 0}
        for nth, each in enumerate(ordered)
        if each.newest != (nth == 0)
    ]
    if marks:
        set_newest = update(t.visits).where(v.id == bindparam("visit"))
        connection.execute(set_newest.values(newest=bindparam("is_newest")), marks)
    last = next((each for each in ordered if each.complete), None)
    connection.execute(
        update(t.openings)
        .where(t.openings.c.id == opening_id)
        .values(last_visit=last.id if last else None, due=last.due if last else None)
    )
