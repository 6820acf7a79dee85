"""The logs of rotation rates named in a journal: their folder, and which ones count."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import NamedTuple

from handsfree.journal.events import Event, ReadingAccepted
from handsfree.journal.motion_events import LeafMeasured

LOGS = "motion"
"""The folder of a visit for logs of rotation rates."""
LOG_NAME = re.compile(
    r"(?!(?i:con|prn|aux|nul|com[0-9]|lpt[0-9])\.)[A-Za-z0-9_][A-Za-z0-9 ()._+-]{0,95}\.(?i:csv)"
)
"""File names for logs that are valid on every system."""
MOST_OF_LOG = 100_000_000
"""Largest log that is read (bytes): hours of rates."""


class NamedLog(NamedTuple):
    """A log from which readings were filed: the line of its event, its name and its SHA-256."""

    seq: int
    name: str
    sha256: str


def logs_filed(events: Iterable[Event]) -> tuple[NamedLog, ...]:
    """The logs from which readings were filed, oldest first; any other log may be deleted."""
    measured: dict[str, NamedLog] = {}
    filed: dict[str, NamedLog] = {}
    for event in events:
        body = event.body
        if isinstance(body, LeafMeasured) and body.log is not None and body.log_sha256 is not None:
            measured[body.log] = NamedLog(event.seq, body.log, body.log_sha256)
        elif isinstance(body, ReadingAccepted) and body.reading.log in measured:
            name = str(body.reading.log)
            filed.setdefault(name, measured[name])
    return tuple(filed.values())
