"""Reads what a browser sends, and nothing larger or other than a form of ours."""

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
"""Bytes of a form."""
WITHIN_S = 20.0
_MOST_FIELDS = 30


class TooLarge(OfficeError):
    """The form is larger than any of ours."""


async def read_form(request: Request) -> dict[str, str]:
    """The fields of a form that was sent as a browser sends it without files.

    Raises OfficeError for anything else.
    """
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    if kind != "application/x-www-form-urlencoded":
        raise OfficeError("this is no form of the office")
    content = b""
    try:
        async with asyncio.timeout(WITHIN_S):
            async for piece in request.stream():
                content += piece
                if len(content) > LARGEST:
                    raise TooLarge(f"that is too much: a form holds at most {LARGEST // 1024} KiB")
    except TimeoutError as error:
        raise OfficeError("the form has not come within the time") from error
    try:
        pairs = parse_qsl(
            content.decode("ascii"),
            keep_blank_values=True,
            encoding="utf-8",
            errors="strict",
            max_num_fields=_MOST_FIELDS,
        )
    except ValueError as error:
        raise OfficeError("this is no form of the office") from error
    return {name: _plain(value) for name, value in pairs}


def csrf_of(key: bytes, session: str) -> str:
    """The token that a form carries: only a page that was given to this session has it."""
    return hmac.new(key, session.encode(), hashlib.sha256).hexdigest()


def is_ours(key: bytes, session: str, fields: Mapping[str, str]) -> bool:
    """Whether a form comes from a page that was given to this session."""
    sent = fields.get("csrf", "").encode("utf-8", "replace")
    return bool(session) and hmac.compare_digest(sent, csrf_of(key, session).encode())


def new_session() -> str:
    """A session that nobody can guess."""
    return secrets.token_urlsafe(24)


def _plain(text: str) -> str:
    """Text with one kind of line end, and without what no keyboard writes."""
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    return "".join(c for c in text if c in "\n\t" or c.isprintable() or c == "\u00a0")
