"""How a visit ends that is told to: by a signal, at a point where nothing can be lost."""

from __future__ import annotations

import signal
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from types import FrameType

from handsfree.clock import SystemClock
from handsfree.errors import HandsfreeError, JournalError
from handsfree.journal.events import Fault
from handsfree.journal.writer import Journal

_SIGNALS = tuple(
    getattr(signal, name) for name in ("SIGTERM", "SIGHUP", "SIGINT") if hasattr(signal, name)
)


class Told(HandsfreeError):
    """Somebody told the program to end."""

    def __init__(self, number: int, folder: Path) -> None:
        super().__init__(
            f"ended by {signal.Signals(number).name}; every accepted reading is kept",
            way_out=f"go on with: handsfree resume {folder}",
        )
        self.exit_code = 128 + number


class _Signalled(BaseException):
    """Leaves whatever goes on; nothing catches it on the way."""

    def __init__(self, number: int) -> None:
        self.number = number


@contextmanager
def ends_when_told(folder: Path) -> Iterator[None]:
    """While it lasts SIGTERM, SIGHUP and Ctrl-C end the visit in order.

    The journal may be in the middle of a line then, as at a kill; so it is closed, opened
    as after one, and that the visit was ended is its last event. Raises Told.
    """

    def tell(number: int, frame: FrameType | None) -> None:
        for each in _SIGNALS:
            signal.signal(each, signal.SIG_IGN)
        raise _Signalled(number)

    before = {each: signal.signal(each, tell) for each in _SIGNALS}
    try:
        yield
    except _Signalled as signalled:
        try:
            at = SystemClock().utc()
            with Journal.open(folder, at) as journal:
                name = signal.Signals(signalled.number).name
                journal.append(Fault(what="terminated", detail=f"by {name}"), at)
        except JournalError:
            pass  # a disk that is full takes no last word; the journal is whole all the same
        raise Told(signalled.number, folder) from None
    finally:
        for each, handler in before.items():
            signal.signal(each, handler)
