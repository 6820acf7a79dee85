"""Opens or creates a ledger at an address, and refuses a foreign database."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from platformdirs import user_data_dir
from sqlalchemy import Connection, Engine, create_engine, event, insert, inspect, select
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError, SQLAlchemyError

from handsfree.errors import LedgerError
from handsfree.ledger import tables as t

_FORMS = "sqlite:///FILE or postgresql://USER@HOST/NAME"
_PATIENCE_S = 5
_LOCK = 7119190  # our own number among a server's advisory locks


def default_url() -> str:
    """The ledger of this computer: an SQLite file among the user's data."""
    return f"sqlite:///{Path(user_data_dir('handsfree')) / 'ledger.sqlite'}"


class Ledger:
    """An open ledger. Close it, or use it in a ``with``.

    Every database error is raised as a LedgerError, and its transaction is rolled back.
    """

    def __init__(self, engine: Engine, name: str) -> None:
        self._engine = engine
        self.name = name
        """The address without the password."""

    def __enter__(self) -> Ledger:
        return self

    def __exit__(self, *_: object) -> None:
        self._engine.dispose()

    @contextmanager
    def transaction(self, *, alone: bool = False) -> Iterator[Connection]:
        """A transaction that writes; ``alone`` locks out others while tables are created."""
        with errors_in_words(self.name), self._engine.connect() as connection:
            writing = connection.execution_options(writes=True)
            with writing.begin():
                _share(writing, alone=alone)
                yield writing

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """A read-only transaction; it does not wait for writers."""
        with errors_in_words(self.name), self._engine.connect() as connection:
            _share(connection, alone=False)
            yield connection


def open_ledger(url: str | None = None, *, make: bool = True, any_version: bool = False) -> Ledger:
    """Opens the ledger at an address, by default this computer's; ``make`` creates a missing one.

    ``any_version`` is for rebuilding the tables. Raises LedgerError for an invalid address, a
    server that does not answer, a foreign database, a ledger of another version, and, unless
    ``make`` is set, a missing ledger.
    """
    address = _address(url or default_url())
    kind = address.drivername.partition("+")[0]
    name = address.set(drivername=kind).render_as_string(hide_password=True)
    file = _file_of(address)
    if file is not None and not file.exists():
        if not make:
            raise LedgerError(
                "there is no ledger here",
                file=file,
                way_out="put visits into it with 'handsfree ledger add FOLDER'",
            )
        _make_folder(file)
    ledger = Ledger(_engine(address), name)
    try:
        with ledger.transaction(alone=True) as connection:
            _check(connection, name, make=make, any_version=any_version)
    except BaseException:
        ledger.__exit__()
        raise
    return ledger


def _share(connection: Connection, *, alone: bool) -> None:
    """Takes a server's lock on the tables: shared, or ``alone`` to create them."""
    if connection.dialect.name == "postgresql":
        shared = "" if alone else "_shared"
        connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock{shared}({_LOCK})")


def _address(url: str) -> URL:
    try:
        address = make_url(url)
    except (ArgumentError, ValueError) as error:
        raise LedgerError("the ledger's address is not valid", way_out=f"give {_FORMS}") from error
    kind = address.drivername.partition("+")[0]
    if kind in ("postgres", "postgresql"):
        return address.set(drivername="postgresql+psycopg")
    if kind == "sqlite" and address.database and address.database != ":memory:":
        return address.set(drivername="sqlite+pysqlite")
    raise LedgerError(f"a ledger cannot be at '{kind}'", way_out=f"give {_FORMS}")


def _file_of(address: URL) -> Path | None:
    return Path(address.database or "") if address.drivername.startswith("sqlite") else None


def _make_folder(file: Path) -> None:
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise LedgerError(
            f"no ledger can be made here: {(error.strerror or str(error)).lower()}",
            file=file,
            way_out="name another place with --url",
        ) from error


def _engine(address: URL) -> Engine:
    if address.drivername.startswith("sqlite"):
        engine = create_engine(address, connect_args={"timeout": _PATIENCE_S})
        event.listen(engine, "connect", _set_up_sqlite)
        event.listen(engine, "begin", _begin_sqlite)
        return engine
    try:
        wait: dict[str, Any] = {"connect_timeout": _PATIENCE_S}
        return create_engine(address, connect_args=wait)
    except ImportError as error:
        raise LedgerError(
            "PostgreSQL cannot be reached without the package psycopg",
            way_out="pip install 'handsfree[postgres]'",
        ) from error


def _set_up_sqlite(connection: Any, _: object) -> None:
    """Switches on foreign keys and a write-ahead log, so that reads do not wait for writes.

    The driver's implicit transactions are switched off.
    """
    connection.isolation_level = None
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute("PRAGMA journal_mode = WAL")
    connection.execute("PRAGMA synchronous = NORMAL")


def _begin_sqlite(connection: Connection) -> None:
    writes = connection.get_execution_options().get("writes", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def make_anew(connection: Connection) -> None:
    """Drops the ledger's tables, of any version, and creates them again."""
    t.metadata.drop_all(connection)
    _make(connection)


def _make(connection: Connection) -> None:
    t.metadata.create_all(connection)
    connection.execute(insert(t.about), [{"name": "schema", "value": t.SCHEMA}])


def _check(connection: Connection, name: str, *, make: bool, any_version: bool) -> None:
    """Creates the tables of a new ledger; refuses another version and a foreign database."""
    there = set(inspect(connection).get_table_names())
    ours = set(t.metadata.tables)
    if t.about.name in there:
        if any_version:
            return
        known = connection.scalar(select(t.about.c.value).where(t.about.c.name == "schema"))
        if known == t.SCHEMA and ours <= there:
            return
        raise LedgerError(
            f"the ledger {name} is of version {known}, not {t.SCHEMA}",
            way_out="'handsfree ledger rebuild FOLDER' makes a new one from the journals",
        )
    if there & ours:
        raise LedgerError(
            f"the database {name} belongs to something else: it has a table "
            f"'{min(there & ours)}' already",
            way_out="give the ledger a database of its own",
        )
    if not make:
        raise LedgerError(
            f"there is no ledger in {name}",
            way_out="put visits into it with 'handsfree ledger add FOLDER'",
        )
    _make(connection)


@contextmanager
def errors_in_words(name: str) -> Iterator[None]:
    """Turns the database's errors into one-line LedgerErrors."""
    try:
        yield
    except SQLAlchemyError as error:
        said = str(getattr(error, "orig", None) or error).strip().splitlines() or [""]
        raise LedgerError(
            f"the ledger {name} cannot be used: {said[0].rstrip('.')}",
            way_out="nothing is half written; check that it exists, is running, and lets you in",
        ) from error
