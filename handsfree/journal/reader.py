"""Reads a visit folder's journal back, and says whether it is whole."""

from __future__ import annotations

from pathlib import Path

from handsfree.errors import JournalError
from handsfree.job.record import Record
from handsfree.journal.canonical_json import sha256_of
from handsfree.journal.events import CycleTimed, Event, Heard, TailRecovered
from handsfree.journal.hash_chain import CRASH, NEWER, UNKNOWN, Break, Scan, printable, scan
from handsfree.journal.head_file import read_head
from handsfree.toml_source import file_bytes

JOURNAL = "journal.jsonl"
CLIPS = "clips"
MOST_OF_JOURNAL, MOST_OF_CLIP = 200_000_000, 100_000_000
"""Bytes: a journal of weeks, a clip of hours. What is larger, or no file, is not read."""


_WAYS_OUT = {
    NEWER: None,
    UNKNOWN: "update handsfree, or ask whoever sent it",
}


class Verification(Record):
    """What ``verify`` found.

    ``lines`` counts the lines that are in order before the break, or all of them;
    ``head`` is the hash of the last one, to be compared with a printed record, and None
    when the journal is broken;
    ``recovered`` counts the unfinished lines that were set aside on resuming.
    """

    whole: bool
    lines: int
    clips: int
    recovered: int
    head: str | None
    broken: Break | None = None


def scan_folder(folder: Path) -> Scan:
    """What the journal of a folder holds. Raises JournalError when there is none."""
    try:
        content = file_bytes(folder / JOURNAL, MOST_OF_JOURNAL)
    except OSError as error:
        raise JournalError(
            f"there is no journal here: {(error.strerror or str(error)).lower()}",
            file=folder / JOURNAL,
            way_out="name the folder that 'handsfree visit' left",
        ) from error
    return scan(content, read_head(folder))


def read(folder: Path) -> tuple[Event, ...]:
    """Every event, oldest first, without an unfinished last line.

    Raises JournalError when there is no journal or its chain is broken.
    """
    found = scan_folder(folder)
    refuse_broken(folder, found)
    return found.events


def refuse_broken(folder: Path, found: Scan) -> None:
    """Raises JournalError that names the line, unless only the last line is unfinished."""
    if found.broken is not None:
        raise JournalError(
            f"{found.broken.reason}: {found.broken.meaning}",
            file=folder / JOURNAL,
            line=found.broken.line,
            way_out=_WAYS_OUT.get(
                found.broken.meaning, "keep the folder as it is, and go on from a copy made before"
            ),
        )


def verify(folder: Path) -> Verification:
    """Whether the journal and its clips are as they were written.

    Raises JournalError when there is no journal.
    """
    return verified(folder, scan_folder(folder))


def verified(folder: Path, found: Scan) -> Verification:
    """What ``verify`` says of a journal that was scanned already; the clips are read here."""
    clips = [e for e in found.events if isinstance(e.body, Heard | CycleTimed) and e.body.clip]
    broken = found.broken
    if broken is None and found.torn:
        reason = f"the line is unfinished, {len(found.torn)} bytes"
        broken = Break(
            line=found.head.seq + 1,
            reason=reason,
            meaning=f"{CRASH}; 'handsfree resume' sets it aside",
        )
    changed = next((b for event in clips if (b := _clip_break(folder, event))), None)
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


def _clip_break(folder: Path, event: Event) -> Break | None:
    """What is wrong with the clip that an event names."""
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
            reason=printable(f"its clip {body.clip} is not the one that was kept"),
            meaning="the sound of this line was changed after it was written",
        )
    return None
