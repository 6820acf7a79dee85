"""Reads the journal of a visit folder and verifies it."""

from __future__ import annotations

from pathlib import Path

from handsfree.errors import JournalError
from handsfree.job.record import Record
from handsfree.journal.canonical_json import sha256_of
from handsfree.journal.events import CycleTimed, Event, Heard, TailRecovered
from handsfree.journal.hash_chain import CRASH, NEWER, UNKNOWN, Break, Scan, printable, scan
from handsfree.journal.head_file import read_head
from handsfree.journal.motion_logs import LOGS, MOST_OF_LOG, NamedLog, logs_filed
from handsfree.journal.photo_files import MOST_OF_PHOTO, PICTURES, NamedPhoto, photos_kept
from handsfree.toml_source import file_bytes

JOURNAL = "journal.jsonl"
CLIPS = "clips"
MOST_OF_JOURNAL, MOST_OF_CLIP = 200_000_000, 100_000_000
"""Largest journal and clip that are read (bytes): weeks of events, hours of sound. Larger files,
and anything but regular files, are refused.
"""


_WAYS_OUT = {
    NEWER: None,
    UNKNOWN: "update handsfree, or ask the sender",
}


class Verification(Record):
    """Result of ``verify``.

    ``lines`` counts the valid lines before the break, or all of them. ``head`` is the hash of the
    last one, to be compared with a printed record; None if the journal is broken. ``recovered``
    counts the unfinished lines that were set aside when resuming.
    """

    whole: bool
    lines: int
    clips: int
    recovered: int
    head: str | None
    broken: Break | None = None


def scan_folder(folder: Path) -> Scan:
    """Scans the journal of a folder. Raises JournalError if there is none."""
    try:
        content = file_bytes(folder / JOURNAL, MOST_OF_JOURNAL)
    except OSError as error:
        raise JournalError(
            f"there is no journal here: {(error.strerror or str(error)).lower()}",
            file=folder / JOURNAL,
            way_out="name a folder that 'handsfree visit' made",
        ) from error
    return scan(content, read_head(folder))


def read(folder: Path) -> tuple[Event, ...]:
    """Reads every event, oldest first, without an unfinished last line.

    Raises JournalError if there is no journal or its chain is broken.
    """
    found = scan_folder(folder)
    refuse_broken(folder, found)
    return found.events


def refuse_broken(folder: Path, found: Scan) -> None:
    """Raises JournalError naming the broken line; an unfinished last line is allowed."""
    if found.broken is not None:
        raise JournalError(
            f"{found.broken.reason}: {found.broken.meaning}",
            file=folder / JOURNAL,
            line=found.broken.line,
            way_out=_WAYS_OUT.get(
                found.broken.meaning, "keep the folder unchanged; continue from an earlier copy"
            ),
        )


def verify(folder: Path) -> Verification:
    """Verifies that the journal and its clips are as they were written.

    Raises JournalError if there is no journal.
    """
    return verified(folder, scan_folder(folder))


def verified(folder: Path, found: Scan) -> Verification:
    """Verifies a journal that was already scanned; reads its clips, logs and photos."""
    clips = [e for e in found.events if isinstance(e.body, Heard | CycleTimed) and e.body.clip]
    logs = logs_filed(found.events)
    broken = found.broken
    if broken is None and found.torn:
        reason = f"the line is unfinished ({len(found.torn)} bytes)"
        broken = Break(
            line=found.head.seq + 1,
            reason=reason,
            meaning=f"{CRASH}; 'handsfree resume' sets it aside",
        )
    changed = next((b for event in clips if (b := _clip_break(folder, event))), None)
    changed = changed or next((b for log in logs if (b := _log_break(folder, log))), None)
    photos = photos_kept(found.events)
    changed = changed or next((b for photo in photos if (b := _photo_break(folder, photo))), None)
    if changed is not None and (broken is None or changed.line < broken.line):
        broken = changed
    return Verification(
        whole=broken is None,
        lines=len(found.events),
        clips=len(clips),
        recovered=sum(isinstance(event.body, TailRecovered) for event in found.events),
        head=found.head.sha256 if broken is None else None,
        broken=broken,
    )


def _log_break(folder: Path, log: NamedLog) -> Break | None:
    """Finds what is wrong with a log that readings were filed from."""
    try:
        content = file_bytes(folder / LOGS / Path(log.name).name, MOST_OF_LOG)
    except OSError:
        return Break(
            line=log.seq,
            reason=printable(f"its log {log.name} is missing"),
            meaning="the log that this line was measured from was removed",
        )
    if sha256_of(content) != log.sha256:
        return Break(
            line=log.seq,
            reason=printable(f"its log {log.name} is not the one that was measured"),
            meaning="the log of this line was changed after it was measured",
        )
    return None


def _photo_break(folder: Path, photo: NamedPhoto) -> Break | None:
    """Finds what is wrong with a photo."""
    try:
        content = file_bytes(folder / PICTURES / photo.name, MOST_OF_PHOTO)
    except OSError:
        return Break(
            line=photo.seq,
            reason=f"its photo {photo.name} is missing",
            meaning="the photo of this line was removed",
        )
    if sha256_of(content) != photo.sha256:
        return Break(
            line=photo.seq,
            reason=f"its photo {photo.name} is not the one that was stored",
            meaning="the photo of this line was changed after it was taken in",
        )
    return None


def _clip_break(folder: Path, event: Event) -> Break | None:
    """Finds what is wrong with an event's clip."""
    body = event.body
    assert isinstance(body, Heard | CycleTimed) and body.clip is not None
    try:
        content = file_bytes(folder / CLIPS / Path(body.clip).name, MOST_OF_CLIP)
    except OSError:
        return Break(
            line=event.seq,
            reason=printable(f"its clip {body.clip} is missing"),
            meaning="the sound of this line was removed",
        )
    if sha256_of(content) != body.clip_sha256:
        return Break(
            line=event.seq,
            reason=printable(f"its clip {body.clip} is not the one that was stored"),
            meaning="the sound of this line was changed after it was written",
        )
    return None
