"""A visit as the office reads it for one page."""

from __future__ import annotations

import time
from pathlib import Path
from typing import NamedTuple

from handsfree.journal.hash_chain import Scan
from handsfree.journal.reader import CLIPS, scan_folder, verified
from handsfree.visit_record.visit_record import VisitRecord, record_of

SOUND_KINDS = (".flac",)


class Seen(NamedTuple):
    """The visit, the hash of the journal's last line, and whether its chain can be gone on with.

    ``here`` is the visit's address.
    """

    folder: Path
    here: str
    visit: VisitRecord
    head: str
    writable: bool

    def sound(self, clip: str | None) -> str | None:
        """The address of a clip; None where its file is not there."""
        if clip is None or clip_file(self.folder, clip) is None:
            return None
        return f"{self.here}/clips/{clip}"


def see(folder: Path, here: str) -> Seen:
    """Reads a visit whole, clips and all. Raises JournalError when nothing of it can be shown."""
    found = steady_scan(folder)
    visit = record_of(found.events, verified(folder, found))
    writable = found.broken is None and not found.torn
    return Seen(folder, here, visit, found.head.sha256, writable)


def steady_scan(folder: Path) -> Scan:
    """The journal between two writes of whoever writes it.

    Lines and head are two files: read in the middle of a write they seem not to fit. What is
    broken is broken at a second look as well. Raises JournalError when there is no journal.
    """
    found = scan_folder(folder)
    for _ in range(3):
        if found.broken is None and not found.torn:
            break
        time.sleep(0.03)
        found = scan_folder(folder)
    return found


def clip_file(folder: Path, name: str) -> Path | None:
    """The file of a clip: one that lies in the visit's own clips, and nothing else."""
    plain = name.isascii() and name.replace(".", "").replace("-", "").isalnum()
    if not plain or name.startswith(".") or not name.endswith(SOUND_KINDS):
        return None
    clips = folder / CLIPS
    file = clips / name
    if clips.is_symlink() or file.is_symlink() or not file.is_file():
        return None
    return file
