"""A visit as read for one page of the office."""

from __future__ import annotations

import time
from pathlib import Path
from typing import NamedTuple

from handsfree.journal.hash_chain import Scan
from handsfree.journal.photo_files import PICTURES, is_photo_name
from handsfree.journal.reader import CLIPS, scan_folder, verified
from handsfree.visit_record.visit_record import VisitRecord, record_of

SOUND_KINDS = (".flac",)


class VisitSnapshot(NamedTuple):
    """A visit, the hash of its journal's last line, and whether lines can be appended to it.

    ``here`` is the visit's address; ``torn`` is true if an unfinished last line is the only fault.
    """

    folder: Path
    here: str
    visit: VisitRecord
    head: str
    writable: bool
    torn: bool = False

    def sound(self, clip: str | None) -> str | None:
        """The address of a clip; None if its file is missing."""
        if clip is None or clip_file(self.folder, clip) is None:
            return None
        return f"{self.here}/clips/{clip}"


def read_snapshot(folder: Path, here: str) -> VisitSnapshot:
    """Reads a visit with its clips. Raises JournalError if nothing of it can be shown."""
    found = steady_scan(folder)
    verification = verified(folder, found)
    visit = record_of(found.events, verification)
    intact, head, broken = found.broken is None, found.head, verification.broken
    at_end = broken is not None and broken.line == head.seq + 1  # its clips are intact
    torn = intact and bool(found.torn) and at_end
    return VisitSnapshot(folder, here, visit, head.sha256, intact and not found.torn, torn)


def steady_scan(folder: Path) -> Scan:
    """Scans the journal, but not in the middle of a write.

    Lines and head are two files that do not match during a write, so a broken journal is read a
    second time. Raises JournalError if there is no journal.
    """
    found = scan_folder(folder)
    for _ in range(3):
        if found.broken is None and not found.torn:
            break
        time.sleep(0.03)
        found = scan_folder(folder)
    return found


def clip_file(folder: Path, name: str) -> Path | None:
    """The file of a clip in the visit's own clips folder; None for any other name."""
    plain = name.isascii() and name.replace(".", "").replace("-", "").isalnum()
    if not plain or name.startswith(".") or not name.endswith(SOUND_KINDS):
        return None
    clips = folder / CLIPS
    file = clips / name
    if clips.is_symlink() or file.is_symlink() or not file.is_file():
        return None
    return file


def photo_file(folder: Path, name: str) -> Path | None:
    """The file of a photo in the visit's own folder of pictures; None for any other name."""
    pictures = folder / PICTURES
    if not is_photo_name(name) or pictures.is_symlink():
        return None
    file = pictures / name
    return None if file.is_symlink() or not file.is_file() else file
