"""Unpacks a packed visit completely after checking it, or not at all. Existing visits are never
lost.
"""

from __future__ import annotations

import os
import tempfile
from pathlib import Path
from typing import Literal, NamedTuple

from handsfree.errors import JournalError, PackError
from handsfree.journal import reader
from handsfree.journal.durable_files import OWN_FILE, OWN_FOLDER, replace_file, sync_folder
from handsfree.journal.head_file import HEAD
from handsfree.journal.reader import CLIPS, JOURNAL
from handsfree.journal.writer import locked
from handsfree.reports.pack import derived_files, named_by
from handsfree.reports.unpack_checks import checked_files
from handsfree.visit_record.visit_record import record_of

UnpackOutcome = Literal["unpacked", "replaced", "unchanged"]
_MADE = ("summary.txt", "report.html")
_LAST = (JOURNAL, HEAD)  # in this order, so that a journal never names a missing clip


class Unpacked(NamedTuple):
    """The folder of the unpacked visit, and the outcome."""

    folder: Path
    came: UnpackOutcome


def unpack(file: Path, into: Path, *, replace: bool = False) -> Unpacked:
    """Unpacks a visit into its own folder below ``into``.

    An existing visit is kept, unless ``replace`` is set and the packed one continues it. Raises
    PackError, with nothing written, for a changed pack, a journal in it that does not verify, and a
    folder with other content.
    """
    manifest, files = checked_files(file)
    target = into / manifest.name
    try:
        into.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(dir=into, prefix=".unpacking-") as beside:
            fresh = Path(beside) / manifest.name
            # The sender's summary and report are not unpacked, because they could say anything.
            files = {name: files[name] for name in files if name not in _MADE}
            fresh.mkdir(OWN_FOLDER)
            (fresh / CLIPS).mkdir(OWN_FOLDER)
            _write(fresh, files)
            made = _verify(file, fresh, manifest.head, set(files))
            _write(fresh, made)
            files |= made
            if not os.path.lexists(target):
                fresh.rename(target)
                sync_folder(into)
                return Unpacked(target, "unpacked")
        return _onto(file, target, files, replace=replace)
    except OSError as error:
        raise PackError(
            f"it could not be unpacked: {(error.strerror or str(error)).lower()}",
            file=target,
            way_out="free some space, or name another place with --into",
        ) from error


def _write(folder: Path, files: dict[str, bytes]) -> None:
    for name, content in files.items():
        (folder / name).parent.mkdir(OWN_FOLDER, exist_ok=True)
        handle = os.open(folder / name, os.O_WRONLY | os.O_CREAT | os.O_EXCL, OWN_FILE)
        with os.fdopen(handle, "wb") as out:
            out.write(content)
            out.flush()
            os.fsync(out.fileno())


def _verify(file: Path, fresh: Path, head: str, names: set[str]) -> dict[str, bytes]:
    """Verifies that a visit is intact and holds exactly the files named in its journal; returns
    its reports.
    """
    scanned = reader.scan_folder(fresh)
    found = reader.verified(fresh, scanned)
    if found.broken is not None:
        raise PackError(
            f"the journal in it {found.broken.told}; nothing was unpacked",
            file=file,
        )
    if found.head != head:
        raise PackError(
            "its manifest and its journal have different heads; nothing was unpacked", file=file
        )
    if unnamed := names - named_by(scanned.events) - {JOURNAL, HEAD}:
        raise PackError(
            f"it holds '{min(unnamed)}', which its journal does not name; nothing was unpacked",
            file=file,
        )
    try:
        return derived_files(record_of(scanned.events, found), fresh)
    except JournalError as error:
        raise PackError(f"{error.message}; nothing was unpacked", file=file) from error


def _onto(file: Path, target: Path, files: dict[str, bytes], *, replace: bool) -> Unpacked:
    """Compares with the existing visit; a continuation replaces it if ``replace`` is set."""
    if target.is_symlink() or not (target / JOURNAL).is_file():
        raise PackError(
            "there is something else here already",
            file=target,
            way_out="name another place with --into",
        )
    with locked(target):
        here, packed = (target / JOURNAL).read_bytes(), files[JOURNAL]
        if here == packed and reader.verify(target).whole:
            return Unpacked(target, "unchanged")
        if here.startswith(packed) and here != packed:
            raise PackError(
                "the visit here has continued since this was packed; it was not changed",
                file=target,
            )
        if not packed.startswith(here):
            raise _apart(target, here, packed)
        if not replace:
            raise PackError(
                "an older or damaged state of this visit is here; the packed one continues it",
                file=target,
                way_out="put the newer one in its place with --replace",
            )
        _refuse_links(target, files)
        for name in sorted(files, key=lambda name: (name in _LAST, name == HEAD, name)):
            (target / name).parent.mkdir(exist_ok=True)
            replace_file(target / name, files[name], OWN_FILE)
        if not reader.verify(target).whole:  # pragma: no cover - every file was checked before
            raise JournalError("the visit is not whole after it was replaced", file=target)
    return Unpacked(target, "replaced")


def _apart(target: Path, here: bytes, packed: bytes) -> PackError:
    """Builds an error that names the line from which two journals differ."""
    pairs = zip(here.split(b"\n"), packed.split(b"\n"), strict=False)
    line = next((n for n, (one, other) in enumerate(pairs, start=1) if one != other), 1)
    if line == 1:
        return PackError(
            "there is another visit here under this name",
            file=target,
            way_out="name another place with --into",
        )
    return PackError(
        f"the visit here and the packed one differ from line {line} on; both were changed",
        file=target,
        way_out="--into another place keeps both",
    )


def _refuse_links(target: Path, files: dict[str, bytes]) -> None:
    """Refuses to write through a symbolic link."""
    for name in files:
        if (target / name).is_symlink() or (target / name).parent.is_symlink():
            raise PackError(f"'{name}' is a link here; nothing was replaced", file=target)
