"""Ends a visit on a signal, without losing anything."""

from __future__ import annotations

import os
import signal
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from types import FrameType

from handsfree.clock import SystemClock
from handsfree.errors import HandsfreeError, JournalError
from handsfree.exit_codes import SIGNAL_BASE
from handsfree.journal.events import Fault
from handsfree.journal.reader import JOURNAL
from handsfree.journal.writer import Journal

_SIGNALS = tuple(
    getattr(signal, name) for name in ("SIGTERM", "SIGHUP", "SIGINT") if hasattr(signal, name)
)
_AGAIN_S = 0.5


class Told(HandsfreeError):
    """A signal to end the program."""

    def __init__(self, number: int, folder: Path) -> None:
        kept = (folder / JOURNAL).exists()
        super().__init__(
            f"ended by {signal.Signals(number).name}; "
            + ("every accepted reading is kept" if kept else "no visit was started"),
            way_out=f"continue with: handsfree resume {folder}" if kept else None,
        )
        self.exit_code = SIGNAL_BASE + number


class _Signalled(BaseException):
    """Unwinds to the shell; nothing on the way catches it."""


class _Teller:
    """Handles the signals: the first one ends the visit in order, the second one at once.

    An exception in a signal handler is lost where Python was called from C, as in a callback. So
    a flag is set as well, and the exception is raised again until it arrives.
    """

    def __init__(self) -> None:
        self.number: int | None = None
        self._before = {each: signal.signal(each, self._tell) for each in _SIGNALS}
        if hasattr(signal, "setitimer"):
            self._before[signal.SIGALRM] = signal.signal(signal.SIGALRM, self._tell_again)

    def rest(self) -> None:
        """Stops raising; the exception has arrived."""
        if hasattr(signal, "setitimer"):
            signal.setitimer(signal.ITIMER_REAL, 0)

    def close(self) -> None:
        """Restores the previous signal handlers.

        Once one has come, another finds the program on its way out, and ends it at once: Python's
        own handler of Ctrl-C would print a traceback there.
        """
        self.rest()
        for each, handler in self._before.items():
            ending = self.number is not None and each in _SIGNALS
            signal.signal(each, signal.SIG_DFL if ending else handler)

    def _tell(self, number: int, frame: FrameType | None) -> None:
        if self.number is not None:
            os._exit(SIGNAL_BASE + number)  # as after a kill: complete turns are on disk
        self.number = number
        if hasattr(signal, "setitimer"):
            signal.setitimer(signal.ITIMER_REAL, _AGAIN_S, _AGAIN_S)
        raise _Signalled

    def _tell_again(self, number: int, frame: FrameType | None) -> None:
        error = sys.exc_info()[1]
        while error is not None:
            if isinstance(error, _Signalled):
                return  # already on its way; resources are being closed
            error = error.__context__
        raise _Signalled


@contextmanager
def ends_when_told(folder: Path) -> Iterator[None]:
    """Lets SIGTERM, SIGHUP and Ctrl+C end the visit in order, and a second signal at once.

    The journal may be in the middle of a line, as after a kill. So it is closed and opened again,
    and the signal becomes its last event. Raises Told.
    """
    teller = _Teller()
    try:
        try:
            yield
        except _Signalled:
            teller.rest()
        if teller.number is not None:
            teller.rest()
            _keep(teller.number, folder)
            raise Told(teller.number, folder)
    finally:
        teller.close()


def _keep(number: int, folder: Path) -> None:
    at = SystemClock().utc()
    try:
        with Journal.open(folder, at) as journal:
            name = signal.Signals(number).name
            journal.append(Fault(what="terminated", detail=f"by {name}"), at)
    except JournalError:
        pass  # on a full disk the signal is not noted; the journal is whole
