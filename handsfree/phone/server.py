"""Serves a built app on the local network with TLS."""

from __future__ import annotations

import socket
from collections.abc import Callable
from contextlib import suppress
from functools import partial
from pathlib import Path

import uvicorn
from platformdirs import user_data_dir
from starlette.applications import Starlette
from starlette.responses import FileResponse
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from handsfree.errors import PhoneError
from handsfree.journal.reader import JOURNAL
from handsfree.phone.build import LIST, POLICY
from handsfree.phone.intake import packs_route
from handsfree.phone.leaf_logs import leaf_logs

AUTHORITY_PATH = "/authority.crt"
_NOWHERE = "192.0.2.1"  # an address for documentation (RFC 5737); nothing is sent to it


def own_address() -> str:
    """This machine's address on the local network, 127.0.0.1 if it has none."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect((_NOWHERE, 9))
        except OSError:
            return "127.0.0.1"
        return str(probe.getsockname()[0])


def certificate_folder() -> Path:
    """The default folder of this machine's certificate authority."""
    return Path(user_data_dir("handsfree", appauthor=False)) / "phone"


def serve(
    folder: Path,
    host: str,
    port: int,
    certificates: Path,
    begun: Callable[[str], None],
    office: tuple[Path, str] | None = None,
    visit: Path | None = None,
) -> None:
    """Serves the app until it is interrupted; ``begun`` is called with its address.

    ``office`` is the folder and token of an office for the packs that phones send. The token
    follows '#' in the address, a part that browsers do not send. A phone may send logs for
    ``visit``, a visit's folder on this machine.

    Raises PhoneError if the app, the folder or the visit does not exist, the address cannot be
    used, or the package that makes certificates is missing.
    """
    if office is not None and not office[0].is_dir():
        raise PhoneError(
            "there is no such folder", file=office[0], way_out="name the folder of the office"
        )
    if visit is not None and not (visit / JOURNAL).is_file():
        raise PhoneError(
            "no visit is in this folder", file=visit, way_out="name the folder of a visit"
        )
    if not (folder / LIST).is_file():
        raise PhoneError(
            "there is no app here", file=folder, way_out="build it: handsfree phone build"
        )
    try:
        from handsfree.phone.certificate import certificates as made
    except ImportError as error:
        raise PhoneError(
            "the package cryptography is missing", way_out="pip install 'handsfree[phone]'"
        ) from error
    files = made(certificates, host)
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((host, port))
    except OSError as error:
        listening.close()
        raise PhoneError(
            f"{host}, port {port} cannot be used: {(error.strerror or str(error)).lower()}",
            way_out="name another --port or --host",
        ) from error
    app = Starlette(
        routes=[
            Route(AUTHORITY_PATH, _certificate(files.authority)),
            *([] if office is None else [packs_route(*office)]),
            *([] if visit is None else [leaf_logs(visit)]),
            Mount("/", StaticFiles(directory=folder, html=True)),
        ]
    )
    config = uvicorn.Config(
        _with_policy(app),
        log_level="error",
        access_log=False,
        server_header=False,
        ssl_certfile=files.server,
        ssl_keyfile=files.key,
    )
    with listening, suppress(KeyboardInterrupt):
        token = "" if office is None else f"#office={office[1]}"
        address = f"https://{host}:{listening.getsockname()[1]}/{token}"
        _Server(config, partial(begun, address)).run(sockets=[listening])


class _Server(uvicorn.Server):
    """A server that calls ``begun`` once it answers."""

    def __init__(self, config: uvicorn.Config, begun: Callable[[], None]) -> None:
        super().__init__(config)
        self._begun = begun

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        """Starts answering requests."""
        await super().startup(sockets)
        if self.started:
            self._begun()


def _certificate(file: Path) -> Callable[[object], FileResponse]:
    def answer(request: object) -> FileResponse:
        return FileResponse(file, media_type="application/x-x509-ca-cert")

    return answer


def _with_policy(app: ASGIApp) -> ASGIApp:
    """Adds the content policy, and makes browsers check for a new version each time."""
    headers = [
        (b"content-security-policy", POLICY.encode()),
        (b"x-content-type-options", b"nosniff"),
        (b"referrer-policy", b"no-referrer"),
        (b"cache-control", b"no-cache"),
    ]

    async def hardened(scope: Scope, receive: Receive, send: Send) -> None:
        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                message["headers"] = [*message["headers"], *headers]
            await send(message)

        await app(scope, receive, with_headers)

    return hardened
