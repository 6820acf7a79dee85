"""Logs sent by a phone to a visit on this machine: accepted and refused ones."""

from __future__ import annotations

from pathlib import Path

import pytest
from anyio.from_thread import start_blocking_portal
from starlette.types import Message

from handsfree.errors import PhoneError
from handsfree.phone import leaf_logs
from handsfree.phone.build import LIST
from handsfree.phone.server import serve

pytest.importorskip("cryptography", reason="pip install 'handsfree[phone]'")

CSV = b"time (s),rotation x (deg/s),rotation y (deg/s),rotation z (deg/s)\n0.0,0.1,0.2,0.3\n"
HERE = "https://192.168.1.20:8443"


def status(visit: Path, method: str, content: bytes = b"", origin: str | None = None) -> int:
    """The status of one request, delivered in pieces like a server's."""
    headers = [(b"host", HERE.removeprefix("https://").encode())]
    headers += [] if origin is None else [(b"origin", origin.encode())]
    half = len(content) // 2
    pieces = [content[:half], content[half:]]
    sent: list[Message] = []

    async def receive() -> Message:
        body = pieces.pop(0)
        return {"type": "http.request", "body": body, "more_body": bool(pieces)}

    async def send(message: Message) -> None:
        sent.append(message)

    scope = {
        **{"type": "http", "method": method, "scheme": "https", "path": leaf_logs.PATH},
        **{"headers": headers, "query_string": b"", "root_path": "", "http_version": "1.1"},
    }
    with start_blocking_portal() as portal:  # a browser test leaves a loop in this thread
        portal.call(leaf_logs.leaf_logs(visit).handle, scope, receive, send)
    return int(sent[0]["status"])


def test_a_log_is_offered_and_taken_whole(tmp_path):
    assert status(tmp_path, "GET") == 204
    assert status(tmp_path, "POST", CSV, HERE) == 201
    (file,) = (tmp_path / "motion").iterdir()
    assert file.suffix == ".csv" and file.read_bytes() == CSV


@pytest.mark.parametrize(
    ("content", "origin", "refused"),
    [
        (CSV, None, 403),
        (CSV, "https://elsewhere.example", 403),
        (b"no table", HERE, 415),
        (b"\xff\xfe,,,", HERE, 415),
        (CSV + b"0" * leaf_logs.MOST_BYTES, HERE, 413),
    ],
)
def test_what_is_no_log_of_this_page_is_refused(tmp_path, content, origin, refused):
    assert status(tmp_path, "POST", content, origin) == refused
    assert not (tmp_path / "motion").exists()


def test_no_phone_fills_the_disk(tmp_path, monkeypatch):
    monkeypatch.setattr(leaf_logs, "MOST_LOGS", 1)
    assert [status(tmp_path, "POST", CSV, HERE) for _ in range(2)] == [201, 507]
    assert len(list((tmp_path / "motion").iterdir())) == 1


def test_a_folder_without_a_visit_is_one_clear_line(tmp_path):
    (tmp_path / LIST).write_text("{}")
    with pytest.raises(PhoneError, match="no visit"):
        serve(tmp_path, "127.0.0.1", 0, tmp_path, print, visit=tmp_path)
