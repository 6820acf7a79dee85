"""Takes the pictures that were dropped into a visit's folder into its journal."""

from __future__ import annotations

import errno
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import NamedTuple

from handsfree.errors import JournalError, PhotoError
from handsfree.journal.canonical_json import sha256_of
from handsfree.journal.durable_files import OWN_FILE, OWN_FOLDER, disk_fault, replace_file
from handsfree.journal.events import Event
from handsfree.journal.hash_chain import printable
from handsfree.journal.paper_events import PhotoKept
from handsfree.journal.photo_files import (
    DROPPED,
    MOST_OF_PHOTO,
    PICTURES,
    CleanPhoto,
    clean,
)
from handsfree.journal.writer import Journal
from handsfree.toml_source import file_bytes
from handsfree.visit_record.visit_record import record_of

_MOST = 200
"""Largest number of pictures taken in at once."""


class Refused(NamedTuple):
    """A dropped file that was not taken in, and a one-line reason."""

    name: str
    why: str


class _Dropped(NamedTuple):
    name: str
    source_sha256: str
    photo: CleanPhoto
    at: str


def take_photos(
    journal: Journal, events: Sequence[Event], now: datetime
) -> tuple[tuple[PhotoKept, ...], tuple[Refused, ...]]:
    """Takes every new picture of the folder 'photos' into the journal.

    ``events`` holds the journal so far. Pictures taken in earlier are skipped, and the others are
    ordered by the time of taking. If as many photos were announced as are new, each gets the step
    of its announcement. The dropped files do not change. Raises JournalError if the disk refuses a
    photo.
    """
    known = {e.body.source_sha256 for e in events if isinstance(e.body, PhotoKept)}
    fresh, refused = _look(journal.folder / DROPPED, known)
    steps = _steps(events, len(fresh))
    kept: list[PhotoKept] = []
    for each, step in zip(fresh, steps, strict=True):
        photo = keep_photo(journal, each.photo, each.source_sha256, each.name, step, now)
        kept.append(photo)
    return tuple(kept), tuple(refused)


def keep_photo(
    journal: Journal,
    photo: CleanPhoto,
    source_sha256: str,
    called: str,
    step: str | None,
    now: datetime,
) -> PhotoKept:
    """Stores a photo and files its event. ``source_sha256`` and ``called`` belong to the original
    picture. Raises JournalError if the disk refuses it.
    """
    name = f"{journal.next_seq:06d}.jpg"
    _store(journal.folder / PICTURES / name, photo.content)
    kept = PhotoKept(
        file=name,
        sha256=sha256_of(photo.content),
        size=len(photo.content),
        width=photo.width,
        height=photo.height,
        source_sha256=source_sha256,
        called=called,
        taken_at=photo.taken_at,
        step_key=step,
    )
    journal.append(kept, now)
    return kept


def _look(folder: Path, known: set[str]) -> tuple[list[_Dropped], list[Refused]]:
    """The new pictures of a folder, ordered by the time of taking, and the files that are not
    pictures.
    """
    try:
        files = sorted(file for file in folder.iterdir() if not file.name.startswith("."))
    except OSError:
        return [], []
    fresh: dict[str, _Dropped] = {}
    refused: list[Refused] = []
    for file in files:
        name = printable(file.name)[:80]
        if len(fresh) == _MOST:
            refused.append(Refused(name, f"more than {_MOST} at once: take the rest in afterwards"))
            break
        try:
            if file.is_symlink():
                raise PhotoError("it is a link", way_out="drop the picture itself")
            content = file_bytes(file, MOST_OF_PHOTO)
            source = sha256_of(content)
            if source in known or source in fresh:
                continue
            at = datetime.fromtimestamp(file.stat().st_mtime, UTC)
            fresh[source] = _Dropped(name, source, clean(content), f"{at:%Y-%m-%dT%H:%M:%S}")
        except PhotoError as error:
            refused.append(Refused(name, f"{error.message} ({error.way_out})"))
        except OSError as error:
            why = error.strerror or "it cannot be read"
            if error.errno == errno.EFBIG:
                why = f"{why} (make it smaller, and drop it again)"
            refused.append(Refused(name, why))
    by_camera = all(each.photo.taken_at for each in fresh.values())
    return sorted(
        fresh.values(), key=lambda each: (each.photo.taken_at if by_camera else each.at, each.name)
    ), refused


def _steps(events: Sequence[Event], fresh: int) -> list[str | None]:
    """The steps at which photos were announced, if as many are new; otherwise no step."""
    visit = record_of(events)
    said = [each.step for each in visit.visit_facts if each.name == "photo"][len(visit.photos) :]
    return list(said) if len(said) == fresh else [None] * fresh


def _store(path: Path, content: bytes) -> None:
    """Puts a photo on disk before its event names it."""
    try:
        if path.parent.is_symlink():
            raise JournalError("the folder of the photos is a link", file=path.parent)
        path.parent.mkdir(OWN_FOLDER, exist_ok=True)
        replace_file(path, content, OWN_FILE)
    except OSError as error:
        raise disk_fault(
            "a photo could not be stored", error, path, "free some space, then take them in again"
        ) from error
