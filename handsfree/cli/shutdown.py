"""Ends a visit on a signal without losing data."""

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


class EndRequested(HandsfreeError):
    """A signal asked the program to end."""

    def __init__(self, number: int, folder: Path) -> None:
        kept = (folder / JOURNAL).exists()
        super().__init__(
            f"ended by {signal.Signals(number).name}; "
            + ("every accepted reading is kept" if kept else "no visit was started"),
            way_out=f"continue with: handsfree resume {folder}" if kept else None,
        )
        self.exit_code = SIGNAL_BASE + number


class _Signalled(BaseException):
    """Unwinds the stack to the command line; nothing in between catches it."""


class _SignalHandler:
    """Handles the signals: the first one ends the visit cleanly, the second one at once.

    An exception raised in a signal handler is lost if C called Python, as in a callback. So a flag
    is set as well, and the exception is raised again until it is caught.
    """

    def __init__(self) -> None:
        self.number: int | None = None
        self._before = {each: signal.signal(each, self._tell) for each in _SIGNALS}
        if hasattr(signal, "setitimer"):
            self._before[signal.SIGALRM] = signal.signal(signal.SIGALRM, self._tell_again)

    def rest(self) -> None:
        """Stops raising once the exception has been caught."""
        if hasattr(signal, "setitimer"):
            signal.setitimer(signal.ITIMER_REAL, 0)

    def close(self) -> None:
        """Restores the previous signal handlers.

        If a first signal has arrived, a second one still ends the program at once, because Python's
        own handler of Ctrl+C would print a traceback during the exit.
        """
        self.rest()
        for each, handler in self._before.items():
            ending = self.number is not None and each in _SIGNALS
            signal.signal(each, signal.SIG_DFL if ending else handler)

    def _tell(self, number: int, frame: FrameType | None) -> None:
        if self.number is not None:
            os._exit(SIGNAL_BASE + number)  # as after a kill: complete turns are already on disk
        self.number = number
        if hasattr(signal, "setitimer"):
            signal.setitimer(signal.ITIMER_REAL, _AGAIN_S, _AGAIN_S)
        raise _Signalled

    def _tell_again(self, number: int, frame: FrameType | None) -> None:
        error = sys.exc_info()[1]
        while error is not None:
            if isinstance(error, _Signalled):
                return  # already ending; resources are being closed
            error = error.__context__
        raise _Signalled


@contextmanager
def ending_on_signal(folder: Path) -> Iterator[None]:
    """Lets SIGTERM, SIGHUP and Ctrl+C end the visit cleanly, and a second signal at once.

    The journal may end in the middle of a line, as after a kill. So it is closed and reopened, and
    the signal is recorded as its last event. Raises EndRequested.
    """
    teller = _SignalHandler()
    try:
        try:
            yield
        except _Signalled:
            teller.rest()
        if teller.number is not None:
            teller.rest()
            _keep(teller.number, folder)
            raise EndRequested(teller.number, folder)
    finally:
        teller.close()


def _keep(number: int, folder: Path) -> None:
    at = SystemClock().utc()
    try:
        with Journal.open(folder, at) as journal:
            name = signal.Signals(number).name
            journal.append(Fault(what="terminated", detail=f"by {name}"), at)
    except JournalError:
        pass  # on a full disk the signal is not recorded; the journal is intact
