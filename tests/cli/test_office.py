"""Starting handsfree office: its address, access, and error messages."""

from __future__ import annotations

import os
import re
import resource
import shutil
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import httpx
import pytest
from click.testing import CliRunner

from handsfree.cli import main


@pytest.fixture(scope="module")
def visits(waiting: Path, tmp_path_factory) -> Path:
    root = tmp_path_factory.mktemp("office")
    shutil.copytree(waiting, root / "visits" / "harbour")
    return root


@contextmanager
def office(root: Path, *more: str) -> Iterator[tuple[subprocess.Popen[str], str, str]]:
    """The office in a separate process: its address, and its stderr."""
    told = root / "stderr.txt"
    with told.open("w") as stderr:
        process = subprocess.Popen(
            [sys.executable, "-m", "handsfree", "office", "--port", "0", *more],
            cwd=root,
            env=os.environ | {"HANDSFREE_CACHE": str(root / "cache")},
            stdout=subprocess.PIPE,
            stderr=stderr,
            text=True,
        )
    try:
        assert process.stdout is not None
        line = process.stdout.readline()
        found = re.search(r"http://\S+", line)
        assert found, told.read_text()
        assert process.stdout.readline() == "Ctrl+C ends it.\n"
        yield process, found[0], told.read_text()
    finally:
        process.send_signal(signal.SIGINT)
        process.wait(timeout=15)
        assert process.stdout is not None
        process.stdout.close()


@pytest.mark.slow
def test_it_shows_visits_and_only_this_machine_reaches_it(visits):
    with office(visits) as (process, address, told):
        found = re.fullmatch(r"http://127\.0\.0\.1:(\d+)/\?token=\S{20,}", address)
        assert found and told == ""
        with httpx.Client(follow_redirects=True) as web:
            for _ in range(100):
                page = web.get(address).text
                if "/visit/" in page:
                    break
        assert "/visit/" in page and "entrance" in page
        port = int(found[1])
        with socket.socket() as outside:
            outside.settimeout(1)
            assert outside.connect_ex((_own_address(), port)) != 0
    assert process.returncode == 0
    assert {p.name for p in (visits / "cache").iterdir()} >= {"office.key"}
    assert (visits / "cache" / "office.key").stat().st_mode & 0o077 == 0


def _own_address() -> str:
    """An address of this machine that is not loopback; loopback's second where it has none."""
    try:
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
            probe.connect(("192.0.2.1", 9))  # nothing is sent
            return str(probe.getsockname()[0])
    except OSError:
        return "127.0.0.2"


@pytest.mark.slow
def test_another_user_of_this_machine_is_asked_for_the_token_too(visits):
    with office(visits) as (_, address, _):
        local, _, token = address.partition("?token=")
        assert httpx.get(local).headers["location"] == "/token"
        assert httpx.post(f"{local}name", data={"by": "x"}).status_code == 401
        assert httpx.get(f"{local}?token={'x' * len(token)}").status_code == 401
    with office(visits) as (_, again, _):  # a bookmark stays good
        assert again.partition("?token=")[2] == token


@pytest.mark.slow
def test_ctrl_c_ends_it_in_order_from_the_moment_it_says_so(visits):
    for _ in range(3):
        with office(visits) as (process, _, _):
            pass
        assert process.returncode == 0 and (visits / "stderr.txt").read_text() == ""


@pytest.mark.slow
def test_half_open_connections_keep_nobody_out(visits):
    with office(visits) as (_, address, _):
        port = int(re.search(r":(\d+)/", address)[1])
        half = [socket.create_connection(("127.0.0.1", port)) for _ in range(120)]
        for each in half:
            each.sendall(b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\n")
        with httpx.Client(follow_redirects=True, timeout=30) as web:
            assert web.get(address).status_code == 200
        for each in half:  # and they do not stay
            each.settimeout(60)
            assert each.recv(10) == b""
            each.close()


@pytest.mark.slow
def test_connections_that_are_renewed_by_the_thousand_keep_nobody_out(visits):
    """More than the 1,000 that may be open at a time; the oldest that wait make room."""
    before = resource.getrlimit(resource.RLIMIT_NOFILE)
    resource.setrlimit(resource.RLIMIT_NOFILE, (min(4000, before[1]), before[1]))
    half: list[socket.socket] = []
    try:
        with office(visits) as (_, address, _), httpx.Client(follow_redirects=True) as web:
            port = int(re.search(r":(\d+)/", address)[1])
            for _ in range(1200):
                half.append(socket.create_connection(("127.0.0.1", port), timeout=30))
            assert web.get(address, timeout=30).status_code == 200
    finally:
        for each in half:
            each.close()
        resource.setrlimit(resource.RLIMIT_NOFILE, before)


@pytest.mark.slow
def test_beyond_this_machine_it_warns_and_asks_for_a_token(visits):
    with office(visits, "visits", "--host", "0.0.0.0") as (_, address, told):
        assert "?token=" in address
        assert "Others in this network can reach it" in told and "Nothing is encrypted" in told
        port = re.search(r":(\d+)/", address)
        token = address.partition("token=")[2]
        assert port is not None and len(token) >= 20
        local = f"http://127.0.0.1:{port[1]}/"
        assert httpx.get(local).headers["location"] == "/token"
        with httpx.Client(base_url=local, follow_redirects=True) as web:
            assert "<h1>Visits</h1>" in web.get(f"/?token={token}").text


@pytest.mark.slow
@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["nowhere"], "nowhere: there is no such folder"),
        (["visits", "--host", "192.0.2.7"], "it cannot be reached at 192.0.2.7"),
        (["visits", "--host", "no such host"], "it cannot be reached at no such host"),
        (["visits", "--port", "99999"], "99999"),
    ],
)
def test_what_it_cannot_do_is_one_line(visits, monkeypatch, arguments, told):
    monkeypatch.chdir(visits)
    answer = CliRunner().invoke(main, ["office", *arguments])
    assert answer.exit_code == 2 and told in answer.output
    assert "Traceback" not in answer.output


def test_a_port_that_is_taken_is_named(visits, monkeypatch):
    monkeypatch.chdir(visits)
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = str(taken.getsockname()[1])
        answer = CliRunner().invoke(main, ["office", "visits", "--port", port])
    assert answer.exit_code == 2 and f"port {port}" in answer.output
    assert "--port" in answer.output
