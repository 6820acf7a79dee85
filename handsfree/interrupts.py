"""Ends the program at once on Ctrl-C while it starts.

Python's own handler raises an exception, which an import can lose: in a callback or a finalizer it
is only printed, and the program continues. At that stage there is no data to lose.
"""

from __future__ import annotations

import signal

_state = {"ours": False}


def end_at_once() -> None:
    """Lets Ctrl-C end the program at once, unless it is ignored (nohup) or handled already."""
    if signal.getsignal(signal.SIGINT) is signal.default_int_handler:
        signal.signal(signal.SIGINT, signal.SIG_DFL)
        _state["ours"] = True


def raise_again() -> None:
    """Restores KeyboardInterrupt on Ctrl-C where ``end_at_once`` has replaced it."""
    if _state["ours"]:
        signal.signal(signal.SIGINT, signal.default_int_handler)
        _state["ours"] = False
