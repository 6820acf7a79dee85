"""The office served on a real port, and a minimal client for it."""

from __future__ import annotations

import re
import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from html import unescape
from pathlib import Path
from typing import Any

import httpx
import uvicorn

from handsfree.clock import Clock
from handsfree.office.app import Office, OfficeSetup

KEY = b"k" * 32


@contextmanager
def office_at(root: Path, clock: Clock | None = None, **house: Any) -> Iterator[tuple[str, Office]]:
    """Serves the visits below ``root``; yields the address and the office object."""
    office = Office(root, OfficeSetup(**({"key": KEY} | house)), clock)
    listening = socket.create_server(("127.0.0.1", 0))
    config = uvicorn.Config(office.app(), log_level="critical", lifespan="on")
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]})
    thread.start()
    try:
        _until(lambda: server.started)
        _until(lambda: office.index.unread() == 0 and office.index.looked)
        yield f"http://127.0.0.1:{listening.getsockname()[1]}", office
    finally:
        server.should_exit = True
        thread.join(timeout=20)
        listening.close()


DESKS: list[Desk] = []
"""Desks of the running test, closed at its end."""


class Desk:
    """A person at a desk: a session, a name, and the forms of the visited pages."""

    def __init__(self, address: str, name: str = "A. Okoro") -> None:
        self.web = httpx.Client(base_url=address, timeout=20)
        DESKS.append(self)
        if name:
            answer = self.send("/name", self.page("/name"), by=name, back="/")
            assert answer.status_code == 303

    def page(self, path: str) -> str:
        answer = self.web.get(path)
        assert answer.status_code == 200, f"{path}: {answer.status_code}"
        return answer.text

    def visit(self, nth: int = 0) -> str:
        """The address of a visit on the list."""
        return re.findall(r'href="(/visit/[0-9a-f]{16})"', self.page("/"))[nth]

    def change(self, visit: str, page: str | None = None, **fields: str) -> httpx.Response:
        """Sends a change from the page of the visit, in its present or an earlier state."""
        return self.send(f"{visit}/change", page or self.page(visit), **fields)

    def send(self, path: str, page: str, **fields: str) -> httpx.Response:
        hidden = {name: hidden_of(page, name) for name in ("csrf", "head")}
        kept = {name: value for name, value in hidden.items() if value is not None}
        return self.web.post(path, data=kept | fields)


def hidden_of(page: str, name: str) -> str | None:
    found = re.search(rf'name="{name}" value="([^"]*)"', page)
    return None if found is None else unescape(found[1])


def _until(true: Any, seconds: float = 20) -> None:
    end = time.monotonic() + seconds
    while not true():
        assert time.monotonic() < end, "never so"
        time.sleep(0.01)
