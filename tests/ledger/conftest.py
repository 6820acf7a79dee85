"""A ledger in an SQLite file and one on a real PostgreSQL server; every test runs on both."""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import psycopg
import pytest

NOBODY = "postgres"


def server_program(name: str) -> str | None:
    """A program of the PostgreSQL server: Debian keeps them out of the path."""
    newest = sorted(Path("/usr/lib/postgresql").glob(f"*/bin/{name}"))
    return str(newest[-1]) if newest else shutil.which(name)


def as_nobody(command: list[str]) -> list[str]:
    """The server refuses to run as root, so this runs it as the user of the Debian package."""
    return ["runuser", "-u", NOBODY, "--", *command] if os.geteuid() == 0 else command


def free_port() -> int:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        port: int = taken.getsockname()[1]
        return port


@pytest.fixture(scope="session")
def postgres_server() -> Iterator[str]:
    """A separate server in a temporary folder; its address without a database."""
    with running_server() as address:
        yield address


@contextmanager
def running_server() -> Iterator[str]:
    """As the fixture; for measurements too."""
    initdb, server = server_program("initdb"), server_program("postgres")
    control = server_program("pg_ctl")
    if initdb is None or server is None or control is None:
        pytest.skip("the Debian package postgresql is not installed")
    # Not below pytest's own folder, which nobody but its owner may enter.
    folder = Path(tempfile.mkdtemp(prefix="handsfree-pg-"))
    if os.geteuid() == 0:
        shutil.chown(folder, NOBODY)
    data, port = folder / "data", free_port()
    quiet = {"check": True, "capture_output": True, "cwd": "/"}
    make = [initdb, "-D", str(data), "-U", NOBODY, "-A", "trust", "-E", "UTF8", "--locale=C"]
    subprocess.run(as_nobody([*make, "--no-sync"]), **quiet)
    options = f"-p {port} -c listen_addresses=127.0.0.1 -c fsync=off -k {folder}"
    log = str(folder / "log")
    start = [control, "-D", str(data), "-l", log, "-w", "-o", options, "start"]
    subprocess.run(as_nobody(start), check=True, stdout=subprocess.DEVNULL, cwd="/")
    try:
        yield f"postgresql://{NOBODY}@127.0.0.1:{port}"
    finally:
        stop = [control, "-D", str(data), "-m", "immediate", "-w", "stop"]
        subprocess.run(as_nobody(stop), **quiet)
        shutil.rmtree(folder)


@pytest.fixture(params=["sqlite", "postgresql"])
def url(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """The address of a ledger that does not exist yet."""
    if request.param == "sqlite":
        return f"sqlite:///{tmp_path / 'ledger.sqlite'}"
    server = request.getfixturevalue("postgres_server")
    name = f"ledger{free_port()}"
    with psycopg.connect(f"{server}/postgres", autocommit=True) as connection:
        connection.execute(f"CREATE DATABASE {name}")
    return f"{server}/{name}"
