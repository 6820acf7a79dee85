"""A journal that was deleted, moved or replaced while it is written: seen, and kept elsewhere.

An open file that somebody deletes or replaces (a program that synchronises or backs up, a person
who tidies) goes on taking what is written, and nobody will ever see it.
"""

from __future__ import annotations

import os
import shutil
from contextlib import suppress
from pathlib import Path

from handsfree.errors import JournalGone
from handsfree.journal.durable_files import OWN_FILE, OWN_FOLDER, replace_file
from handsfree.journal.head_file import Head, write_head
from handsfree.journal.reader import CLIPS, JOURNAL

_MOST_COPIES = 1000


def same_file(handle: int, path: Path) -> bool:
    """Whether the open file is the one that lies at the path."""
    try:
        there = path.stat()
    except OSError:
        return False
    return os.path.samestat(os.fstat(handle), there)


def new_place(handle: int, folder: Path) -> Path | None:
    """Where the visit's folder lies now, if it was renamed; None where that cannot be known."""
    with suppress(OSError):
        now = Path(f"/proc/self/fd/{handle}").readlink()
        if now.name == JOURNAL and now.parent != folder.resolve() and same_file(handle, now):
            return now.parent
    return None


def kept_elsewhere(folder: Path, content: bytes, head: Head) -> Path:
    """Writes all that is known of a visit into a new folder beside it, with the clips that are
    still there; that folder can be gone on with. Raises OSError.
    """
    beside = next(
        place
        for nth in range(1, _MOST_COPIES)
        if not (place := folder.with_name(f"{folder.name}-kept-{nth}")).exists()
    )
    beside.mkdir(OWN_FOLDER, parents=True)
    replace_file(beside / JOURNAL, content, OWN_FILE)
    write_head(beside, head)
    if (folder / CLIPS).is_dir():
        shutil.copytree(folder / CLIPS, beside / CLIPS)
    for torn in folder.glob("journal.torn-*"):
        shutil.copy(torn, beside)
    return beside


def gone(folder: Path, saved: Path | None, why: str = "") -> JournalGone:
    """What to say of it: where everything is, and how to go on."""
    what = "the journal was deleted, moved or replaced while it was written"
    if saved is None:
        return JournalGone(
            f"{what}, and it could not be written anew beside it: {why}",
            file=folder / JOURNAL,
            way_out="bring the file back, from the waste bin or a backup",
        )
    return JournalGone(
        f"{what}; all of the visit is in {saved}",
        file=folder / JOURNAL,
        way_out=f"go on with: handsfree resume {saved}",
    )


def renamed(folder: Path, now: Path) -> JournalGone:
    """What to say of a folder that was renamed."""
    return JournalGone(
        f"this folder was renamed while the visit went on; it is {now} now, and nothing is lost",
        file=folder,
        way_out=f"go on with: handsfree resume {now}",
    )
