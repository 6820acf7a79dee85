"""Inserts or updates visits in the ledger, several in one transaction."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any, NamedTuple

from sqlalchemy import Connection, Table, bindparam, delete, insert, select, update
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.exc import SQLAlchemyError

from handsfree.ledger import tables as t
from handsfree.ledger.read_visits import AddOutcome, AddResult, ReadVisit
from handsfree.ledger.visit_rows import TableRow
from handsfree.reports.next_service import DAILY


class _Known(NamedTuple):
    """The journal of a visit in the ledger: the hash of its last line and its line count."""

    head: str
    lines: int


def upsert(connection: Connection, visits: Sequence[ReadVisit]) -> list[AddResult]:
    """Inserts or updates visits, in order, in the connection's transaction."""
    ids = {each.rows.visit["id"] for each in visits}
    _hold(connection, {each.rows.visit["opening_id"] for each in visits})
    j = t.journals.c
    found = connection.execute(select(j.visit_id, j.head, j.lines).where(j.visit_id.in_(ids)))
    known = {row.visit_id: _Known(row.head, row.lines) for row in found}
    old = set(known)
    came: list[AddResult] = []
    new: dict[str, ReadVisit] = {}  # of two copies of a visit the later state counts
    for taken in visits:
        visit_id = taken.rows.visit["id"]
        added = _compared(taken, known.get(visit_id))
        came.append(added)
        if added.came in ("added", "replaced"):
            new[visit_id] = taken
            known[visit_id] = _known(taken)
    _write(connection, list(new.values()), gone=old & new.keys())
    return came


def _known(taken: ReadVisit) -> _Known:
    journal = taken.rows.parts[t.journals.name][0]
    return _Known(journal["head"], journal["lines"])


def _compared(taken: ReadVisit, known: _Known | None) -> AddResult:
    """Decides what to do with a visit, given what the ledger knows of its journal."""
    came: AddOutcome = "added"
    why = ""
    if known is not None:
        mine = _known(taken)
        if known.head == mine.head:
            came = "unchanged"
        elif known.head in taken.hashes:
            came = "replaced"
        elif mine.lines < known.lines:
            came, why = "older", f"the ledger knows {known.lines} lines of this visit"
        else:
            came = "diverged"
            why = "it does not continue the journal of this visit that the ledger knows"
    return AddResult(taken.folder, came, why)


def _write(connection: Connection, visits: Sequence[ReadVisit], *, gone: set[str]) -> None:
    if not visits:
        return
    if gone:
        for table in t.PARTS:
            connection.execute(delete(table).where(table.c.visit_id.in_(gone)))
        connection.execute(delete(t.visits).where(t.visits.c.id.in_(gone)))
    openings = {each.rows.opening["id"]: each.rows.opening for each in visits}
    dialect = sqlite if connection.dialect.name == "sqlite" else postgresql
    new_openings = dialect.insert(t.openings).on_conflict_do_nothing()
    connection.execute(new_openings, list(openings.values()))
    connection.execute(insert(t.visits), [each.rows.visit for each in visits])
    for table in t.PARTS:
        rows = [row for each in visits for row in each.rows.parts[table.name]]
        if rows:
            _insert(connection, table, rows)
    _follow(connection, openings)


def _insert(connection: Connection, table: Table, rows: list[TableRow]) -> None:
    """Inserts many rows of a table; on a server with COPY, which is three times as fast."""
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


def _hold(connection: Connection, openings: Iterable[str]) -> None:
    """Locks the openings, so that two writers to one opening on a server take turns.

    All writers lock openings in the same order, so that no deadlock can arise.
    """
    if connection.dialect.name == "postgresql":
        connection.exec_driver_sql(
            "SELECT pg_advisory_xact_lock(lock) FROM (SELECT DISTINCT hashtextextended(id, 0) lock"
            " FROM unnest(%(openings)s::text[]) id ORDER BY lock) locks",
            {"openings": list(openings)},
        )


def _follow(connection: Connection, openings: Iterable[str]) -> None:
    """Updates the openings: their latest visits, and when the next service is due.

    A daily walk checks less than a service, so failures from the last service remain.
    """
    v = t.visits.c
    mine = select(v.opening_id, v.id, v.procedure, v.complete, v.due, v.newest)
    mine = mine.where(v.opening_id.in_(list(openings)))
    visits: dict[str, list[Any]] = {}
    for row in connection.execute(mine.order_by(v.ended.desc(), v.id.desc())):
        visits.setdefault(row.opening_id, []).append(row)
    marks = []
    for ordered in visits.values():
        service = next((each for each in ordered if each.procedure != DAILY), ordered[0])
        newest = {ordered[0].id, service.id}
        marks += [
            {"visit": each.id, "is_newest": each.id in newest}
            for each in ordered
            if each.newest != (each.id in newest)
        ]
    if marks:
        set_newest = update(t.visits).where(v.id == bindparam("visit"))
        connection.execute(set_newest.values(newest=bindparam("is_newest")), marks)
    lasts = []
    for opening, ordered in visits.items():
        finished = [each for each in ordered if each.complete]
        # A daily walk is not a service: the service before it still counts.
        last = next((each for each in finished if each.due), finished[0] if finished else None)
        visit, day = (last.id, last.due) if last is not None else (None, None)
        lasts.append({"opening": opening, "visit": visit, "day": day})
    connection.execute(
        update(t.openings)
        .where(t.openings.c.id == bindparam("opening"))
        .values(last_visit=bindparam("visit"), due=bindparam("day")),
        lasts,
    )
