"""Packs a visit into one file to mail: a zip with journal, sound, photos and report."""

from __future__ import annotations

import io
import json
import re
import zipfile
from collections.abc import Callable, Iterable
from pathlib import Path

from handsfree.errors import JournalError, PackError
from handsfree.job.record import Record
from handsfree.journal.canonical_json import sha256_of
from handsfree.journal.events import CycleTimed, Event, Heard, TailRecovered
from handsfree.journal.hash_chain import printable
from handsfree.journal.head_file import HEAD
from handsfree.journal.motion_logs import LOG_NAME, LOGS, logs_filed
from handsfree.journal.paper_events import PHOTO_NAME
from handsfree.journal.photo_files import PICTURES, photos_kept
from handsfree.journal.reader import CLIPS, JOURNAL, scan_folder, verified
from handsfree.reports.summary import summary_of
from handsfree.reports.summary_text import summary_text
from handsfree.visit_record.visit_record import VisitRecord, record_of

SUFFIX = ".visit.zip"
MANIFEST = "manifest.json"
FORMAT = "handsfree pack"
VERSION = 1
KNOWN = re.compile(
    r"journal\.jsonl|journal\.head|journal\.torn-[0-9]{1,6}|summary\.txt|report\.html"
    r"|clips/[0-9]{6,9}\.flac"
    rf"|{LOGS}/{LOG_NAME.pattern}"
    rf"|{PICTURES}/{PHOTO_NAME}"
)
"""The only file names allowed in a pack besides the manifest."""
NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,79}")
"""Valid names of a visit's folder in a pack."""
RESERVED = re.compile(r"(con|prn|aux|nul|com[0-9]|lpt[0-9])(\..*)?|.*\.", re.IGNORECASE | re.DOTALL)
"""Names that are reserved on Windows (source: its file naming conventions, memory)."""
_BEFORE_ZIP = (1980, 1, 1, 0, 0, 0)  # a fixed time, so that the same visit gives the same bytes


Derive = Callable[[VisitRecord, Path], dict[str, bytes]]
"""Makes the files of a visit that are derived from its journal and sound."""


class PackedFile(Record):
    """A file in a pack: its size in bytes and its SHA-256."""

    size: int
    sha256: str


class Manifest(Record):
    """The contents of a pack. ``name`` is the visit's folder, ``head`` its last line's hash."""

    format: str = FORMAT
    version: int = VERSION
    name: str
    head: str
    files: dict[str, PackedFile]


def pack(folder: Path, derive: Derive | None = None) -> bytes:
    """The pack of a visit: the same bytes for the same visit.

    ``derive`` makes the derived files; the default is :func:`derived_files`.

    Raises JournalError for a broken journal, and PackError for a file named in it that a pack
    cannot hold.
    """
    found = scan_folder(folder)
    verification = verified(folder, found)
    if verification.broken is not None or verification.head is None:
        broken = verification.broken
        raise JournalError(
            broken.what if broken else "the journal is broken",
            file=folder / JOURNAL,
            line=broken.line if broken else None,
            way_out="only a whole visit is packed; 'handsfree verify' says what this means",
        )
    visit = record_of(found.events, verification)
    files = {JOURNAL: _content(folder, JOURNAL), HEAD: _content(folder, HEAD)}
    for name in sorted(named_by(found.events)):
        # Lines that were set aside may be missing; clips, logs and photos may not.
        if name.startswith((f"{CLIPS}/", f"{LOGS}/", f"{PICTURES}/")) or (
            KNOWN.fullmatch(name) and (folder / name).is_file()
        ):
            files[name] = _content(folder, name)
    files |= (derive or derived_files)(visit, folder)
    manifest = Manifest(
        name=name_of(folder),
        head=verification.head,
        files={
            name: PackedFile(size=len(content), sha256=sha256_of(content))
            for name, content in files.items()
        },
    )
    told = json.dumps(manifest.model_dump(), sort_keys=True, indent=1).encode() + b"\n"
    return _zipped({MANIFEST: told, **dict(sorted(files.items()))})


def derived_files(visit: VisitRecord, folder: Path) -> dict[str, bytes]:
    """The files of a visit that are derived from the others."""
    from handsfree.reports.embedded_photos import InlinePhotos  # not available on a phone
    from handsfree.reports.embedded_sound import InlineSound
    from handsfree.reports.report_html import report_html

    return {
        **summary_file(visit, folder),
        "report.html": report_html(visit, InlineSound(folder), photos=InlinePhotos(folder)).encode(
            "utf-8", "replace"
        ),
    }


def summary_file(visit: VisitRecord, folder: Path) -> dict[str, bytes]:
    """The summary of a visit, without the report, which unpacking makes."""
    return {"summary.txt": summary_text(summary_of(visit)).encode("utf-8", "replace")}


def named_by(events: Iterable[Event]) -> set[str]:
    """The files named in a journal: clips, logs, photos, and lines set aside."""
    named: set[str] = set()
    told = tuple(events)
    for event in told:
        body = event.body
        if isinstance(body, Heard | CycleTimed) and body.clip is not None:
            named.add(f"{CLIPS}/{body.clip}")
        elif isinstance(body, TailRecovered):
            named.add(body.kept_as)
    named |= {f"{PICTURES}/{photo.name}" for photo in photos_kept(told)}
    return named | {f"{LOGS}/{log.name}" for log in logs_filed(told)}


def name_of(folder: Path) -> str:
    """The folder's name in letters, digits, dots and dashes."""
    name = re.sub(r"[^A-Za-z0-9._-]+", "-", folder.resolve().name).strip(".-_")[:80].rstrip(".")
    return f"visit-{name}" if RESERVED.fullmatch(name) else name or "visit"


def _content(folder: Path, name: str) -> bytes:
    if not KNOWN.fullmatch(name):
        raise PackError(
            printable(f"the journal names a file '{name}', which no visit has"),
            file=folder / JOURNAL,
            way_out="only what handsfree writes is packed",
        )
    try:
        return (folder / name).read_bytes()
    except OSError as error:
        raise JournalError(
            f"it cannot be read: {(error.strerror or str(error)).lower()}", file=folder / name
        ) from error


def _zipped(files: dict[str, bytes]) -> bytes:
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        for name, content in files.items():
            entry = zipfile.ZipInfo(name, _BEFORE_ZIP)
            entry.create_system = 3
            entry.external_attr = 0o100644 << 16
            small = name.endswith((".flac", ".jpg"))  # compressed already
            entry.compress_type = zipfile.ZIP_STORED if small else zipfile.ZIP_DEFLATED
            archive.writestr(entry, content, compresslevel=6)
    return packed.getvalue()
