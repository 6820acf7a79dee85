"""Encodes events as canonical JSON: one spelling per event, so that hashes are meaningful."""

from __future__ import annotations

import hashlib
import json
from datetime import UTC, datetime

from handsfree.journal.events import Event, Heard
from handsfree.language.meaning import MEANING

NO_HASH = "0" * 64


def canonical(event: Event) -> bytes:
    """Encodes an event as a line without newline: UTF-8, sorted keys, no spaces, decimals as
    strings.
    """
    plain = event.model_dump(mode="json")
    text = json.dumps(
        plain, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False
    )
    return text.encode()


def parse_line(line: bytes) -> Event:
    """Parses a line as an event. Raises ValueError (including pydantic's) if it is not one.

    The meaning of an utterance must be a meaning of the grammar.
    """
    event = Event.model_validate(json.loads(line.decode()))
    if isinstance(event.body, Heard) and event.body.meaning is not None:
        MEANING.validate_python(event.body.meaning)
    return event


def sha256_of(content: bytes) -> str:
    """SHA-256 of bytes, in hex."""
    return hashlib.sha256(content).hexdigest()


def stamp(at: datetime) -> str:
    """Formats a time for an event: UTC with milliseconds, '2026-03-04T09:15:02.120Z'."""
    return at.astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")
