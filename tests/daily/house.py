"""The page of a daily walk, served on a real port."""

from __future__ import annotations

import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import uvicorn

from handsfree.daily.app import DailyPage
from handsfree.daily.walk import DailyWalk
from handsfree.office.app import OfficeSetup


@contextmanager
def page_of(walk: DailyWalk, **house: Any) -> Iterator[str]:
    """Serves the page of a walk; returns its address."""
    page = DailyPage(walk, OfficeSetup(**({"key": b"k" * 32} | house)))
    listening = socket.create_server(("127.0.0.1", 0))
    server = uvicorn.Server(uvicorn.Config(page.app(), log_level="critical", lifespan="on"))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]})
    thread.start()
    try:
        end = time.monotonic() + 60
        while not server.started:
            assert time.monotonic() < end, "never started"
            time.sleep(0.01)
        yield f"http://127.0.0.1:{listening.getsockname()[1]}"
    finally:
        server.should_exit = True
        thread.join(timeout=60)
        listening.close()
