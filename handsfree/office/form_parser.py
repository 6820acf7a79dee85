"""Reads the forms that a browser posts, and refuses anything larger or of another type."""

from __future__ import annotations

import asyncio
import hashlib
import hmac
import secrets
from collections.abc import Mapping
from urllib.parse import parse_qsl

from starlette.requests import Request

from handsfree.errors import OfficeError

LARGEST = 64 * 1024
"""Largest form that is accepted (bytes)."""
WITHIN_S = 20.0
_MOST_FIELDS = 30


class TooLarge(OfficeError):
    """A form larger than any that the office sends."""


async def read_form(request: Request) -> dict[str, str]:
    """The fields of a URL-encoded form.

    Raises OfficeError for anything else.
    """
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    if kind != "application/x-www-form-urlencoded":
        raise OfficeError("this is not a form of the office")
    content = b""
    try:
        async with asyncio.timeout(WITHIN_S):
            async for piece in request.stream():
                content += piece
                if len(content) > LARGEST:
                    raise TooLarge(f"this is too large: a form holds at most {LARGEST // 1024} KiB")
    except TimeoutError as error:
        raise OfficeError("the form did not arrive in time") from error
    try:
        pairs = parse_qsl(
            content.decode("ascii"),
            keep_blank_values=True,
            encoding="utf-8",
            errors="strict",
            max_num_fields=_MOST_FIELDS,
        )
    except ValueError as error:
        raise OfficeError("this is not a form of the office") from error
    return {name: _plain(value) for name, value in pairs}


def csrf_of(key: bytes, session: str) -> str:
    """The CSRF token of a session, contained only in pages served to that session."""
    return hmac.new(key, session.encode(), hashlib.sha256).hexdigest()


def is_ours(key: bytes, session: str, fields: Mapping[str, str]) -> bool:
    """True if a form comes from a page served to this session."""
    sent = fields.get("csrf", "").encode("utf-8", "replace")
    return bool(session) and hmac.compare_digest(sent, csrf_of(key, session).encode())


def new_session() -> str:
    """A random session id."""
    return secrets.token_urlsafe(24)


def name_of_person(text: str) -> str:
    """The name of the person at the desk. Raises OfficeError for a name that no journal can
    hold.
    """
    name = " ".join(text.split())
    if not name or len(name) > 80 or not name.isprintable():
        raise OfficeError("write your name, in at most 80 characters")
    return name


def _plain(text: str) -> str:
    """Text with plain line endings and without control characters."""
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    return "".join(c for c in text if c in "\n\t" or c.isprintable() or c == "\u00a0")
