"""The visits below a folder, each addressed by an id so that no request contains a path."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from handsfree.journal.head_file import HEAD
from handsfree.journal.reader import JOURNAL

_DEEPEST = 6


class Place(NamedTuple):
    """The location of a visit; ``name`` is its folder below the root, '.' for the root itself.

    ``seen`` is a fingerprint that changes with the journal: sizes, times and numbers of its two
    files.
    """

    id: str
    folder: Path
    name: str
    seen: str


def places(root: Path) -> Iterator[Place]:
    """Every folder with a journal at or below ``root``. Symbolic links are not followed."""
    yield from _below(root, ".", 0)


def place_of(root: Path, name: str) -> Place | None:
    """The visit with that name; None if it is gone or reachable only through a symbolic link."""
    folder = root if name == "." else root / name
    if not folder.resolve().is_relative_to(root.resolve()):
        return None
    seen = _seen(folder)
    return None if seen is None else Place(id_of(name), folder, name, seen)


def id_of(name: str) -> str:
    """The id of a visit: a hash of its folder's path below the root."""
    return hashlib.sha256(os.fsencode(name)).hexdigest()[:16]


def _below(folder: Path, name: str, depth: int) -> Iterator[Place]:
    seen = _seen(folder)
    if seen is not None:
        yield Place(id_of(name), folder, name, seen)
        return
    if depth >= _DEEPEST:
        return
    try:
        with os.scandir(folder) as entries:
            inner = sorted(e.name for e in entries if e.is_dir(follow_symlinks=False))
    except OSError:
        return
    for each in inner:
        yield from _below(folder / each, each if name == "." else f"{name}/{each}", depth + 1)


def _seen(folder: Path) -> str | None:
    """A fingerprint of the journal's files (size, time, inode); None without a journal."""
    try:
        lines = (folder / JOURNAL).lstat()
    except OSError:
        return None
    try:
        head = (folder / HEAD).lstat()
        beside = f"{head.st_mtime_ns}.{head.st_size}.{head.st_ino}"
    except OSError:
        beside = "none"
    return f"{lines.st_size}.{lines.st_mtime_ns}.{lines.st_ino}.{beside}"
