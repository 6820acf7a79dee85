"""Writes an office change into a journal, unless the same item was changed in the meantime."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

from handsfree.checks.limit_set import LimitSet
from handsfree.checks.limits import load_limits
from handsfree.clock import Clock
from handsfree.errors import JournalBusy, LimitsError, OfficeError
from handsfree.journal import events as ev
from handsfree.journal.reader import scan_folder, verified
from handsfree.journal.writer import Journal
from handsfree.office.change_events import bodies_of
from handsfree.office.changes import Change
from handsfree.office.edit_conflicts import clashing, since
from handsfree.visit_record.visit_record import VisitRecord, record_of

PATIENCE_S = 2.0
"""Time to wait for a journal that another program is writing (s)."""
_APART_S = 0.05
_TURNS = tuple(threading.Lock() for _ in range(64))
"""Locks for the visits: people in one office wait for each other without a limit; a visit shares
its lock with a few others. Only the wait for another program is limited.
"""


class Written(NamedTuple):
    """The change was written; ``head`` is the new hash of the journal's last line."""

    head: str


class Conflict(NamedTuple):
    """The change was not written, because others changed the same item first.

    ``later`` holds their changes, None if the form was made from another journal; ``head`` is the
    present head of the journal.
    """

    later: tuple[ev.Event, ...] | None
    visit: VisitRecord
    head: str


def make_change(
    folder: Path,
    change: Change,
    by: str,
    head: str,
    clock: Clock,
    patience_s: float = PATIENCE_S,
) -> Written | Conflict:
    """Writes the events of a change in one write, under the journal's lock.

    ``head`` is the hash of the last line as the person saw it. Raises JournalBusy if another
    program keeps writing the visit, JournalError if the journal is broken, and OfficeError if the
    change is impossible.
    """
    with _turn(folder), _opened(folder, clock, patience_s) as journal:
        found = scan_folder(folder)
        events = found.events
        visit = record_of(events, verified(folder, found))
        later = since(events, journal.head, head)
        if later is None:
            return Conflict(None, visit, journal.head)
        if clash := clashing(later, change):
            return Conflict(clash, visit, journal.head)
        bodies = bodies_of(change, visit, by, _limits_of(visit))
        if bodies:
            journal.append_all(bodies, clock.utc())
        return Written(journal.head)


def set_tail_aside(folder: Path, clock: Clock, patience_s: float = PATIENCE_S) -> None:
    """Moves an unfinished last line out of the journal, as resuming a visit does.

    Raises like :func:`make_change`.
    """
    with _turn(folder), _opened(folder, clock, patience_s):
        pass


def _turn(folder: Path) -> threading.Lock:
    return _TURNS[hash(folder) % len(_TURNS)]


def _opened(folder: Path, clock: Clock, patience_s: float) -> Journal:
    """Opens the journal, waiting a moment for another writer to finish."""
    begin_s = clock.rising_s()
    while True:
        try:
            return Journal.open(folder, clock.utc())
        except JournalBusy as error:
            if clock.rising_s() - begin_s >= patience_s:
                raise JournalBusy(
                    "this visit is being written just now: by its technician, whose visit goes on,"
                    " or by somebody else's change",
                    way_out="nothing was changed; try again when the visit has ended",
                ) from error
        time.sleep(_APART_S)


def _limits_of(visit: VisitRecord) -> Callable[[], LimitSet]:
    """A loader of the limit set by which the visit was judged; it refuses any other."""

    def load() -> LimitSet:
        name = visit.sheet.limits
        try:
            limits = load_limits(name)
        except LimitsError as error:
            raise OfficeError(
                f"the limits of this visit cannot be read: {error}",
                way_out="start the office in the folder where the visit was started",
            ) from error
        if limits.sha256 != visit.opened.limits_sha256:
            raise OfficeError(
                f"the limit set {name} has changed since this visit, so it cannot be judged again",
                way_out="restore the old file; decisions and notes can still be written",
            )
        return limits

    return load
