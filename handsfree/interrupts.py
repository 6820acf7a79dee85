"""Ends the program at once on Ctrl-C while it starts.

Python's own handler raises an exception, and an import can lose it: in a callback or a finalizer it
is printed and forgotten, and the program goes on. Nothing has been begun then that could be lost.
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
    """Lets Ctrl-C raise KeyboardInterrupt again, where ``end_at_once`` has changed that."""
    if _state["ours"]:
        signal.signal(signal.SIGINT, signal.default_int_handler)
        _state["ours"] = False
