"""Serves the office: port, access token, signing key and the running server."""

from __future__ import annotations

import hashlib
import hmac
import ipaddress
import os
import secrets
import socket
from collections.abc import Callable
from contextlib import suppress
from functools import partial
from pathlib import Path
from typing import NamedTuple

import uvicorn
from starlette.applications import Starlette

from handsfree.cache_folder import cache_folder
from handsfree.errors import OfficeError
from handsfree.office.access_guard import is_loopback, names_of
from handsfree.office.app import Office, OfficeSetup
from handsfree.office.request_timeout import PatientProtocol
from handsfree.office.transcriber import Opener


class Served(NamedTuple):
    """The address of the office, its token, and whether other machines can reach it.

    The token is required on the loopback too, because every user of the machine can reach it.
    """

    address: str
    token: str
    beyond: bool


def serve(
    root: Path,
    host: str,
    port: int,
    told: Callable[[Served], None],
    ear: Opener | None = None,
) -> None:
    """Serves the visits below ``root`` until it is interrupted; ``told`` is called once it
    answers.

    ``port`` 0 takes a free one; ``ear`` opens a second ear. Raises OfficeError for an unusable
    folder, address or port.
    """
    if not root.is_dir():
        raise OfficeError(
            "there is no such folder", file=root, way_out="name a visit, or a folder of them"
        )

    def office(house: OfficeSetup) -> Starlette:
        kept = rows_file(cache_folder(), root)
        return Office(root, house._replace(kept=kept, ear=ear)).app()

    serve_app(office, host, port, told)


def serve_app(
    app_of: Callable[[OfficeSetup], Starlette],
    host: str,
    port: int,
    told: Callable[[Served], None],
) -> None:
    """Serves an application behind a token until it is interrupted.

    ``app_of`` makes it, ``told`` is called once it answers. Raises OfficeError for an unusable
    address or port.
    """
    listening = _listening(host, port)
    names, any_address = names_of(host)
    key = key_in(cache_folder())
    token = token_of(key) if is_loopback(host) else secrets.token_urlsafe(16)
    app = app_of(OfficeSetup(names=names, any_address=any_address, token=token, key=key))
    address = _address(host, listening.getsockname()[1], token)
    config = uvicorn.Config(
        app,
        log_level="warning",
        access_log=False,
        server_header=False,
        timeout_graceful_shutdown=3,
        limit_concurrency=1000,
        http=PatientProtocol,
        timeout_keep_alive=10,
    )
    server = _Server(config, partial(told, Served(address, token, not is_loopback(host))))
    with listening, suppress(KeyboardInterrupt):
        server.run(sockets=[listening])


class _Server(uvicorn.Server):
    """A server that calls ``begun`` once it answers requests and signals.

    An earlier signal would interrupt the start at an arbitrary place.
    """

    def __init__(self, config: uvicorn.Config, begun: Callable[[], None]) -> None:
        super().__init__(config)
        self._begun = begun

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        """Opens the office."""
        await super().startup(sockets)
        if self.started and not self.should_exit:
            self._begun()


def rows_file(cache: Path, root: Path) -> Path:
    """The row cache's file for one folder of visits."""
    name = hashlib.sha256(os.fsencode(root.resolve())).hexdigest()[:16]
    return cache / f"office-{name}.sqlite"


def key_in(cache: Path) -> bytes:
    """The key that signs the forms, kept so that open pages survive a restart.

    If it cannot be stored, it is new at each start.
    """
    file, key = cache / "office.key", secrets.token_bytes(32)
    with suppress(OSError):
        cache.mkdir(parents=True, exist_ok=True, mode=0o700)
        try:
            handle = os.open(file, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        except FileExistsError:
            kept = file.read_bytes()
            if len(kept) == len(key):
                return kept
            handle = os.open(file, os.O_WRONLY | os.O_TRUNC)
        with os.fdopen(handle, "wb") as new:
            new.write(key)
    return key


def token_of(key: bytes) -> str:
    """The access token on this machine: the same at every start, so bookmarks keep working."""
    return hmac.new(key, b"the token on this machine", hashlib.sha256).hexdigest()[:32]


def _listening(host: str, port: int) -> socket.socket:
    listening: socket.socket | None = None
    try:
        found = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)
        family, kind, protocol, _, address = found[0]
        listening = socket.socket(family, kind, protocol)
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listening.bind(address)
        listening.listen(64)
    except OSError as error:
        if listening is not None:
            listening.close()
        reason = (error.strerror or str(error)).lower()
        raise OfficeError(
            f"it cannot be reached at {host}, port {port}: {reason}",
            way_out="another office may be running there: give another --port, or 0 for a free one",
        ) from error
    return listening


def _address(host: str, port: int, token: str) -> str:
    """The address to open; by the machine's name if it listens on every interface."""
    with suppress(ValueError):
        if ipaddress.ip_address(host).is_unspecified:
            host = socket.gethostname()
    shown = f"[{host}]" if ":" in host else host
    return f"http://{shown}:{port}/?token={token}"
