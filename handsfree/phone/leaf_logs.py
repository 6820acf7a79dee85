"""Receives logs of rotation rates from a phone on the local network for a visit on this machine."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from handsfree.journal.motion_logs import LOGS

PATH = "/leaf-logs"
MOST_BYTES = 10_000_000
"""Largest log that is accepted (bytes): half an hour at 100 samples a second takes 6 MB."""
MOST_LOGS = 100
"""Most logs in the folder of a visit, so that no phone fills the disk."""


def leaf_logs(visit: Path) -> Route:
    """The route that receives logs for a visit.

    GET answers 204, so that the page can offer it. POST stores its body in the visit as a new CSV
    file and answers 201. Errors are 403 for a page from another site, 413 for a large log, 415 for
    anything but CSV text, 507 for too many logs or a full disk. The log is not read here: its
    results count only after the technician's *affirm*.
    """

    async def answer(request: Request) -> Response:
        if request.method == "GET":
            return Response(status_code=204)
        own = f"{request.url.scheme}://{request.url.netloc}"
        if request.headers.get("origin") != own:
            return Response(status_code=403)
        content = await _content(request)
        if content is None:
            return Response(status_code=413)
        if not _is_csv(content):
            return Response(status_code=415)
        return Response(status_code=201 if _put(visit / LOGS, content) else 507)

    return Route(PATH, answer, methods=["GET", "POST"])


async def _content(request: Request) -> bytes | None:
    """The body; None as soon as it becomes too large."""
    content = bytearray()
    async for piece in request.stream():
        content += piece
        if len(content) > MOST_BYTES:
            return None
    return bytes(content)


def _is_csv(content: bytes) -> bool:
    try:
        return content.decode("utf-8").partition("\n")[0].count(",") >= 3
    except UnicodeDecodeError:
        return False


def _put(logs: Path, content: bytes) -> bool:
    """Writes a new file that appears complete; returns False if that is impossible."""
    name = f"leaf-{datetime.now(UTC):%Y%m%d-%H%M%S-%f}.csv"
    try:
        logs.mkdir(exist_ok=True)
        if sum(1 for _ in logs.iterdir()) >= MOST_LOGS:
            return False
        part = logs / f"{name}.part"
        part.write_bytes(content)
        part.rename(logs / name)
    except OSError:
        return False
    return True
