"""The photos of a visit for a page: small and embedded, or as links."""

from __future__ import annotations

import base64
from pathlib import Path
from typing import Protocol
from urllib.parse import quote

from handsfree.errors import PhotoError
from handsfree.journal.photo_files import MOST_OF_PHOTO, PICTURES, is_photo_name, thumbnail
from handsfree.toml_source import file_bytes

SIDE = 480
"""Longest side of an embedded photo (pixels)."""
ROOM = 3_000_000
"""Largest total size of the photos in a page (bytes)."""


class Photos(Protocol):
    """A source of photos for a page."""

    def address(self, name: str) -> str | None:
        """The ``src`` of a photo by its file name; None if it cannot be shown."""

    def whole(self, name: str) -> str | None:
        """The address of the full-size photo; None if the page has none."""


class InlinePhotos:
    """Photos of a visit's folder as small data URLs, as many as fit in one page."""

    def __init__(self, folder: Path, room: int = ROOM) -> None:
        self._folder = folder / PICTURES
        self._room = room

    def address(self, name: str) -> str | None:
        """The photo as ``data:image/jpeg;base64,...``; None if it is missing or does not fit."""
        if not is_photo_name(name):
            return None
        try:
            content = thumbnail(file_bytes(self._folder / name, MOST_OF_PHOTO), SIDE)
        except (OSError, PhotoError):
            return None
        if len(content) > self._room:
            return None
        self._room -= len(content)
        return f"data:image/jpeg;base64,{base64.b64encode(content).decode()}"

    def whole(self, name: str) -> str | None:
        """Returns None: a self-contained page has no full-size photos."""


class LinkedPhotos:
    """Photos as links, for a page from a server; ``base`` ends in a slash."""

    def __init__(self, folder: Path, base: str) -> None:
        self._folder = folder / PICTURES
        self._base = base

    def address(self, name: str) -> str | None:
        """``base`` and the file's name; None if the file is missing."""
        there = is_photo_name(name) and (self._folder / name).is_file()
        return f"{self._base}{quote(name)}" if there else None

    def whole(self, name: str) -> str | None:
        """The same address: the linked file is the full-size photo."""
        return self.address(name)
