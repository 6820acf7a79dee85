"""Detects a journal that was deleted, moved or replaced during writing, and saves it elsewhere.

If a sync program, a backup program or a person deletes or replaces an open file, the open handle
keeps accepting writes that are lost.
"""

from __future__ import annotations

import os
import shutil
from contextlib import suppress
from pathlib import Path

from handsfree.errors import JournalGone
from handsfree.journal.durable_files import OWN_FILE, OWN_FOLDER, replace_file
from handsfree.journal.head_file import Head, write_head
from handsfree.journal.photo_files import DROPPED, PICTURES
from handsfree.journal.reader import CLIPS, JOURNAL

_MOST_COPIES = 1000


def same_file(handle: int, path: Path) -> bool:
    """True if the open file is the one at the path."""
    try:
        there = path.stat()
    except OSError:
        return False
    return os.path.samestat(os.fstat(handle), there)


def new_place(handle: int, folder: Path) -> Path | None:
    """The new location of a renamed visit folder, or None if it cannot be determined."""
    with suppress(OSError):
        now = Path(f"/proc/self/fd/{handle}").readlink()
        if now.name == JOURNAL and now.parent != folder.resolve() and same_file(handle, now):
            return now.parent
    return None


def save_elsewhere(folder: Path, content: bytes, head: Head) -> Path:
    """Writes the whole visit, with the remaining clips, to a new folder next to the old one.

    The visit can be resumed from the new folder. Raises OSError.
    """
    copy = next(
        place
        for nth in range(1, _MOST_COPIES)
        if not (place := folder.with_name(f"{folder.name}-kept-{nth}")).exists()
    )
    copy.mkdir(OWN_FOLDER, parents=True)
    replace_file(copy / JOURNAL, content, OWN_FILE)
    write_head(copy, head)
    for kept in (CLIPS, PICTURES, DROPPED):
        if (folder / kept).is_dir():
            shutil.copytree(folder / kept, copy / kept)
    for torn in folder.glob("journal.torn-*"):
        shutil.copy(torn, copy)
    return copy


def journal_gone(folder: Path, saved: Path | None, why: str = "") -> JournalGone:
    """Builds the error for a lost journal: where everything is, and how to continue."""
    what = "the journal was deleted, moved or replaced during writing"
    if saved is None:
        return JournalGone(
            f"{what}, and could not be saved next to it: {why}",
            file=folder / JOURNAL,
            way_out="restore the file from the trash or a backup",
        )
    return JournalGone(
        f"{what}; the whole visit is in {saved}",
        file=folder / JOURNAL,
        way_out=f"continue with: handsfree resume {saved}",
    )


def folder_renamed(folder: Path, now: Path) -> JournalGone:
    """Builds the error for a renamed folder."""
    return JournalGone(
        f"this folder was renamed to {now} during the visit; nothing is lost",
        file=folder,
        way_out=f"continue with: handsfree resume {now}",
    )
