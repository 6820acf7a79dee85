"""Durable file operations of the journal: complete and on disk, or an error."""

from __future__ import annotations

import os
import sys
from contextlib import suppress
from pathlib import Path

from handsfree.errors import JournalError

OWN_FOLDER, OWN_FILE = 0o700, 0o600
"""Permissions of a visit: owner only, because it holds people's voices."""


def sync_folder(folder: Path) -> None:
    """Makes the folder's own entries durable (new and renamed files).

    Does nothing on Windows, where a folder cannot be opened and the file system does this itself.
    """
    if sys.platform == "win32":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def binary(flags: int) -> int:
    """Flags of ``os.open`` for unchanged bytes; otherwise Windows would write each newline as
    two.
    """
    return flags | getattr(os, "O_BINARY", 0)


def replace_file(path: Path, content: bytes, mode: int = 0o644) -> None:
    """Writes a file completely or not at all; it is on disk when this returns.

    An existing file is replaced, never written through, because it may be a pipe or a link. Raises
    OSError; what was written until then is removed, so that on a full disk it takes no room from
    the journal.
    """
    temporary = path.with_name(path.name + ".tmp")
    temporary.unlink(missing_ok=True)
    handle = os.open(temporary, binary(os.O_WRONLY | os.O_CREAT | os.O_EXCL), mode)
    try:
        try:
            write_all(handle, content)
            os.fsync(handle)
        finally:
            os.close(handle)
        temporary.replace(path)
    except OSError:
        with suppress(OSError):
            temporary.unlink()
        raise
    sync_folder(path.parent)


def write_all(handle: int, content: bytes) -> None:
    """Writes every byte. Raises OSError if the disk takes only part of them."""
    written = os.write(handle, content)
    while written < len(content):
        written += os.write(handle, content[written:])


def disk_fault(what: str, error: OSError, path: Path, way_out: str) -> JournalError:
    """Builds a JournalError from a disk error."""
    reason = (error.strerror or str(error)).lower()
    return JournalError(f"{what}: {reason}", file=path, way_out=way_out)
