"""The app for tests: built once from the machine's parts, and served locally."""

from __future__ import annotations

import functools
import http.server
import os
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from handsfree.phone.build import build
from handsfree.synthesis.voice import Voice

PARTS_VARIABLE = "HANDSFREE_PHONE_PARTS"


def parts() -> Path:
    """The folder of parts; skips the test if none is named."""
    named = os.environ.get(PARTS_VARIABLE)
    if not named:
        pytest.skip(f"no parts of the phone app: set {PARTS_VARIABLE} ('handsfree phone parts')")
    return Path(named)


def built(folder: Path, voice: Voice | None = None, room_bytes: int = 0) -> Path:
    """An app that listens in English, with prompts in ``voice``."""
    build(folder, parts(), ("en",), voice_of=lambda language: voice, room_bytes=room_bytes)
    return folder


class _Quiet(http.server.SimpleHTTPRequestHandler):
    def log_message(self, format: str, *args: object) -> None:
        pass


@contextmanager
def served(folder: Path) -> Iterator[str]:
    """The address of a folder's files on this machine, which browsers trust without TLS."""
    handler = functools.partial(_Quiet, directory=str(folder))
    with http.server.ThreadingHTTPServer(("127.0.0.1", 0), handler) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        yield f"http://127.0.0.1:{server.server_port}/"
        server.shutdown()
