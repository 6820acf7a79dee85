"""Receives packs from phones, checks them, and unpacks them into the office's folder."""

from __future__ import annotations

import hmac
import tempfile
from pathlib import Path

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse
from starlette.routing import Route

from handsfree.errors import HandsfreeError
from handsfree.reports.unpack import unpack

PACKS_PATH = "/packs"
LARGEST = 1_000_000_000
"""Largest pack that is accepted (bytes), the same as for unpacking."""


def packs_route(visits: Path, token: str) -> Route:
    """A route that takes one pack as the body of a POST, with the office's token as bearer.

    It answers ``{"came": ..., "name": ...}`` as unpacking does, or ``{"error": ...}``. A pack that
    continues an existing visit replaces it; any other pack of that visit is rejected.
    """

    async def take(request: Request) -> JSONResponse:
        sent = request.headers.get("authorization", "").removeprefix("Bearer ")
        if not hmac.compare_digest(sent.encode("utf-8", "replace"), token.encode()):
            return _error(401, "This is not the office's token.")
        length = request.headers.get("content-length", "")
        if not length.isdecimal() or int(length) > LARGEST:
            return _error(413, "This pack is too large, or does not say its size.")
        with tempfile.NamedTemporaryFile(suffix=".visit.zip") as file:
            left = int(length)
            async for piece in request.stream():
                left -= len(piece)
                if left < 0:
                    return _error(413, "This pack is larger than it says.")
                file.write(piece)
            file.flush()
            try:
                done = await run_in_threadpool(unpack, Path(file.name), visits, replace=True)
            except HandsfreeError as error:
                return _error(409, f"{error.message[:1].upper()}{error.message[1:]}.")
        return JSONResponse({"came": done.came, "name": done.folder.name})

    return Route(PACKS_PATH, take, methods=["POST"])


def _error(status: int, text: str) -> JSONResponse:
    return JSONResponse({"error": text}, status)
