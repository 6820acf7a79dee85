"""Checks a received pack before anything is written."""

from __future__ import annotations

import stat
import zipfile
import zlib
from pathlib import Path

from pydantic import ValidationError

from handsfree.errors import PackError
from handsfree.journal.canonical_json import sha256_of
from handsfree.journal.head_file import HEAD
from handsfree.journal.reader import JOURNAL
from handsfree.reports.pack import FORMAT, KNOWN, MANIFEST, NAME, RESERVED, VERSION, Manifest

MOST_FILES = 20_000
MOST_BYTES = 1_000_000_000
"""Largest size after unpacking (bytes): about ten hours of sound."""
_MOST_OF = {MANIFEST: 8_000_000, JOURNAL: 200_000_000, HEAD: 1_000}
_MOST_OF_ANY = 100_000_000
_MOST_TIMES = 100
"""Largest factor by which a file may grow when unpacked: hashes in a journal do not compress, and
sound is compressed already.
"""
_NEVER_TOO_LARGE = 1_000_000
"""Files up to this size (bytes) may grow by any factor."""
_PIECE = 1 << 16
_KINDS = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)


def checked_files(file: Path) -> tuple[Manifest, dict[str, bytes]]:
    """The manifest and the files of a pack, after checking every name, size and hash.

    Raises PackError with the first fault.
    """
    try:
        if file.exists() and not file.is_file():  # for example a pipe, whose end is never reached
            raise PackError("this is not a pack: it is not a regular file", file=file)
        with zipfile.ZipFile(file) as archive:
            entries = _entries(file, archive)
            manifest = _manifest(file, archive, entries)
            files: dict[str, bytes] = {}
            left = MOST_BYTES
            for name in manifest.files:
                most = min(_MOST_OF.get(name, _MOST_OF_ANY), manifest.files[name].size, left)
                files[name] = _content(file, archive, entries[name], most)
                left -= len(files[name])
    except OSError as error:
        raise PackError(
            f"it cannot be read: {(error.strerror or str(error)).lower()}", file=file
        ) from error
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, ValueError) as error:
        raise PackError(
            "this is not a pack, or it was damaged on the way",
            file=file,
            way_out="have it sent again; 'handsfree pack' makes one",
        ) from error
    for name, content in files.items():
        told = manifest.files[name]
        if len(content) != told.size or sha256_of(content) != told.sha256:
            raise _refused(file, f"'{name}' is not what the manifest says")
    return manifest, files


def _entries(file: Path, archive: zipfile.ZipFile) -> dict[str, zipfile.ZipInfo]:
    """The checked entries by name, before anything is unpacked."""
    listed = archive.infolist()
    if len(listed) > MOST_FILES:
        raise _refused(file, f"it holds {len(listed)} files, more than {MOST_FILES}")
    entries: dict[str, zipfile.ZipInfo] = {}
    for entry in listed:
        name = entry.filename
        shown = ascii(name[:60])
        if entry.orig_filename != name or (name != MANIFEST and not KNOWN.fullmatch(name)):
            raise _refused(file, f"it holds {shown}, which no visit has")
        if name in entries:
            raise _refused(file, f"it holds {shown} twice")
        kind = stat.S_IFMT(entry.external_attr >> 16)
        if kind not in (0, stat.S_IFREG):
            raise _refused(file, f"{shown} is a link or something else that is not a file")
        if entry.flag_bits & 1 or entry.compress_type not in _KINDS:
            raise _refused(file, f"{shown} is encrypted, or packed in an unknown way")
        if entry.file_size > max(_MOST_TIMES * entry.compress_size, _NEVER_TOO_LARGE):
            raise _refused(
                file, f"{shown} is out of proportion: it unpacks to {entry.file_size} bytes"
            )
        entries[name] = entry
    if sum(entry.file_size for entry in listed) > MOST_BYTES:
        raise _refused(file, "unpacked it would be larger than a visit can be")
    return entries


def _manifest(
    file: Path, archive: zipfile.ZipFile, entries: dict[str, zipfile.ZipInfo]
) -> Manifest:
    if MANIFEST not in entries:
        raise _refused(file, f"it has no {MANIFEST}")
    told = _content(file, archive, entries[MANIFEST], _MOST_OF[MANIFEST])
    try:
        manifest = Manifest.model_validate_json(told)
    except ValidationError as error:
        raise _refused(file, f"its {MANIFEST} is not valid") from error
    if manifest.format != FORMAT or manifest.version != VERSION:
        raise _refused(file, f"it is of version {manifest.version}, and only {VERSION} is known")
    if not NAME.fullmatch(manifest.name) or RESERVED.fullmatch(manifest.name):
        raise _refused(file, "the name of its visit is not a valid folder name")
    if set(manifest.files) != set(entries) - {MANIFEST}:
        raise _refused(file, "its manifest does not match the files in it")
    if not {JOURNAL, HEAD} <= set(manifest.files):
        raise _refused(file, "it has no journal with its head")
    return manifest


def _content(file: Path, archive: zipfile.ZipFile, entry: zipfile.ZipInfo, most: int) -> bytes:
    """Unpacks a file up to ``most`` bytes, regardless of its stated size."""
    pieces: list[bytes] = []
    size = 0
    with archive.open(entry) as packed:
        while piece := packed.read(_PIECE):
            size += len(piece)
            if size > most:
                raise _refused(
                    file, f"'{entry.filename}' is larger than it says, or larger than allowed"
                )
            pieces.append(piece)
    return b"".join(pieces)


def _refused(file: Path, why: str) -> PackError:
    return PackError(f"{why}; nothing was unpacked", file=file)
