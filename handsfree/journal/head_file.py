"""The file journal.head, which records the last line of the journal.

No hash in the chain covers the last line, so only the head shows that it was changed or cut off.
"""

from __future__ import annotations

import json
from pathlib import Path

from pydantic import ValidationError

from handsfree.job.record import Record
from handsfree.journal.canonical_json import NO_HASH
from handsfree.journal.durable_files import OWN_FILE, replace_file
from handsfree.toml_source import file_bytes

HEAD = "journal.head"


class Head(Record):
    """Number (``seq``) of the last line known to be on disk, and the SHA-256 of its bytes."""

    seq: int = 0
    sha256: str = NO_HASH


def write_head(folder: Path, head: Head) -> None:
    """Replaces the head of a visit folder. Raises OSError."""
    line = json.dumps(head.model_dump(), sort_keys=True, separators=(",", ":"))
    replace_file(folder / HEAD, line.encode() + b"\n", OWN_FILE)


def read_head(folder: Path) -> Head | None:
    """Reads the head of a visit folder; None if it is missing or unreadable."""
    try:
        return Head.model_validate_json(file_bytes(folder / HEAD, 1000))
    except (OSError, ValidationError):
        return None
