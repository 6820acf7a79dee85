"""Writes a visit's journal: an event is on disk once ``append`` has returned it."""

from __future__ import annotations

import logging
import os
from collections.abc import Iterator, Sequence
from contextlib import ExitStack, contextmanager, suppress
from datetime import datetime
from pathlib import Path
from types import TracebackType
from typing import Self

from filelock import FileLock, Timeout

from handsfree.errors import JournalBusy, JournalError
from handsfree.journal.canonical_json import canonical, sha256_of, stamp
from handsfree.journal.displaced_journal import (
    folder_renamed,
    journal_gone,
    new_place,
    same_file,
    save_elsewhere,
)
from handsfree.journal.durable_files import (
    OWN_FILE,
    OWN_FOLDER,
    binary,
    disk_fault,
    replace_file,
    sync_folder,
    write_all,
)
from handsfree.journal.events import Body, Event, Fault, TailRecovered
from handsfree.journal.head_file import Head, write_head
from handsfree.journal.reader import JOURNAL, MOST_OF_JOURNAL, refuse_broken, scan_folder
from handsfree.toml_source import file_bytes

_LOG = logging.getLogger(__name__)
LOCK = "journal.lock"
TORN = "journal.torn-"


class Journal:
    """An open journal, made by :meth:`create` or :meth:`open`; close it after use."""

    def __init__(
        self, folder: Path, lock: FileLock, head: Head, *, content: bytes = b"", mode: int = 0
    ) -> None:
        self.folder = folder
        self._lock = lock
        self._head = head
        self._content = bytearray(content)
        flags = binary(os.O_WRONLY | os.O_APPEND | mode)
        self._handle: int | None = os.open(folder / JOURNAL, flags, OWN_FILE)
        # Otherwise this file system reports new file numbers each time.
        self._tells = same_file(self._handle, folder / JOURNAL)

    @classmethod
    def create(cls, folder: Path) -> Self:
        """Begins a journal in a new or empty folder.

        A journal without a complete line counts as empty: a kill before the first event leaves such
        a file, and a power cut may leave half of its first line, which is set aside. Raises
        JournalError if the folder already holds a visit or cannot be written.
        """
        kept = folder / JOURNAL
        try:
            if kept.exists() and b"\n" in file_bytes(kept, MOST_OF_JOURNAL):
                raise JournalError(
                    "this folder already holds a visit",
                    file=folder,
                    way_out="name another folder, or continue with 'handsfree resume'",
                )
            folder.mkdir(OWN_FOLDER, parents=True, exist_ok=True)
            with ExitStack() as undo:
                lock = _lock(folder)
                undo.callback(lock.release)
                if kept.exists() and (torn := kept.read_bytes()):
                    _set_aside(folder, torn)
                write_head(folder, Head())
                journal = cls(folder, lock, Head(), mode=os.O_CREAT)
                sync_folder(folder)
                undo.pop_all()
        except OSError as error:
            raise disk_fault(
                "cannot store a visit here", error, folder, "name a writable folder"
            ) from error
        return journal

    @classmethod
    def open(cls, folder: Path, at: datetime) -> Self:
        """Continues a journal. An unfinished last line is set aside and recorded.

        ``at`` is the time of that record. Raises JournalError if there is no journal, another
        program is writing it, or it is broken in any other way.
        """
        scan_folder(folder)  # fail before creating a lock in a folder without a journal
        try:
            with ExitStack() as undo:
                lock = _lock(folder)
                undo.callback(lock.release)
                found = scan_folder(folder)
                refuse_broken(folder, found)
                if found.torn:
                    _set_aside(folder, found.torn)
                write_head(folder, found.head)
                content = (folder / JOURNAL).read_bytes()
                journal = cls(folder, lock, found.head, content=content)
                undo.pop_all()
        except OSError as error:
            raise disk_fault(
                "cannot resume this visit", error, folder, "make its folder writable"
            ) from error
        known = {e.body.kept_as for e in found.events if isinstance(e.body, TailRecovered)}
        for torn in _torn_files(folder):
            if torn.name not in known:
                journal.append(TailRecovered(kept_as=torn.name, bytes=torn.stat().st_size), at)
        return journal

    @property
    def next_seq(self) -> int:
        """Number of the next event."""
        return self._head.seq + 1

    @property
    def head(self) -> str:
        """SHA-256 of the last line, which covers everything before it."""
        return self._head.sha256

    def append(self, body: Body, at: datetime) -> Event:
        """Adds an event; it is on disk when this returns. See :meth:`append_all`."""
        return self.append_all((body,), at)[0]

    def append_all(self, bodies: Sequence[Body], at: datetime) -> tuple[Event, ...]:
        """Adds events in one write: a kill leaves all of them or none.

        They are on disk when this returns. Raises JournalError if the disk refuses them; the
        journal is then closed, and complete up to the previous event. Raises JournalGone if the
        journal was deleted, moved or replaced; it is then closed, and the named folder holds all of
        it, including these events.
        """
        if self._handle is None:
            raise JournalError("the journal is closed", file=self.folder / JOURNAL)
        head, events, lines = self._head, [], []
        for body in bodies:
            event = Event(seq=head.seq + 1, at=stamp(at), body=body, prev=head.sha256)
            line = canonical(event)
            head = Head(seq=event.seq, sha256=sha256_of(line))
            events.append(event)
            lines.append(line + b"\n")
        self._refuse_gone(b"".join(lines), head)
        try:
            self._write(b"".join(lines))
            write_head(self.folder, head)
        except OSError as error:
            self.close()
            raise disk_fault(
                f"event {self.next_seq} could not be written",
                error,
                self.folder / JOURNAL,
                f"free some space, then: handsfree resume {self.folder}",
            ) from error
        self._head = head
        self._content += b"".join(lines)
        for event in events:
            fault = f" {event.body.what}" if isinstance(event.body, Fault) else ""
            _LOG.info("event %d: %s%s", event.seq, event.body.kind, fault)
        return tuple(events)

    def close(self) -> None:
        """Releases the file and the lock; harmless if called twice."""
        if self._handle is not None:
            os.close(self._handle)
            self._handle = None
            self._lock.release()

    def _refuse_gone(self, lines: bytes, head: Head) -> None:
        """Raises JournalGone if the next write would go to a displaced file."""
        assert self._handle is not None
        there = self.folder / JOURNAL
        same = same_file(self._handle, there) if self._tells else there.exists()
        if same and os.fstat(self._handle).st_size == len(self._content):
            return
        try:
            now = new_place(self._handle, self.folder)
            if now is not None:
                self._write(lines)
                write_head(now, head)
                raise folder_renamed(self.folder, now)
            raise journal_gone(
                self.folder, save_elsewhere(self.folder, bytes(self._content) + lines, head)
            )
        except OSError as error:
            raise journal_gone(self.folder, None, (error.strerror or str(error)).lower()) from error
        finally:
            self.close()

    def _write(self, lines: bytes) -> None:
        """Writes whole lines, and removes what a failed write left.

        If the removal fails too, resuming sets the rest aside.
        """
        assert self._handle is not None
        size = os.fstat(self._handle).st_size
        try:
            write_all(self._handle, lines)
            os.fsync(self._handle)
        except OSError:
            with suppress(OSError):
                os.ftruncate(self._handle, size)
                os.fsync(self._handle)
            raise

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        traceback: TracebackType | None,
    ) -> None:
        if kind is None and self._handle is not None:
            self._refuse_gone(b"", self._head)
        self.close()


@contextmanager
def locked(folder: Path) -> Iterator[None]:
    """Holds a visit's lock while its files are replaced, without writing events.

    Raises JournalError if another program is writing the visit.
    """
    lock = _lock(folder)
    try:
        yield
    finally:
        lock.release()


def _lock(folder: Path) -> FileLock:
    lock = FileLock(folder / LOCK, mode=OWN_FILE, thread_local=False)
    try:
        lock.acquire(timeout=0)
    except Timeout as error:
        raise JournalBusy(
            "another handsfree is writing this visit",
            file=folder,
            way_out="stop that one first",
        ) from error
    return lock


def _torn_files(folder: Path) -> list[Path]:
    """Lines set aside so far, oldest first."""
    found = [path for path in folder.glob(f"{TORN}*") if path.suffix != ".tmp"]
    return sorted(found, key=lambda path: (len(path.name), path.name))


def _set_aside(folder: Path, torn: bytes) -> None:
    """Moves an unfinished last line out of the journal into its own file."""
    replace_file(folder / f"{TORN}{len(_torn_files(folder)) + 1}", torn, OWN_FILE)
    handle = os.open(folder / JOURNAL, os.O_WRONLY)
    try:
        os.ftruncate(handle, os.fstat(handle).st_size - len(torn))
        os.fsync(handle)
    finally:
        os.close(handle)
