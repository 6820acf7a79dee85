"""Keyboard input in addition to the voice: typed lines, and any key as a push-to-talk button."""

from __future__ import annotations

import os
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from queue import Empty, SimpleQueue
from typing import Protocol, TextIO

LONGEST_LINE = 500
"""Longest typed line (characters); the rest is cut off."""


class Keyboard(Protocol):
    """A keyboard that can be polled for lines and key presses."""

    def line(self) -> str | None:
        """Returns the next typed line, or None if there is none yet."""
        ...

    def pressed(self) -> bool:
        """True if a key was pressed since the last call."""
        ...


class TerminalKeyboard:
    """Reads a stream character by character in its own thread.

    The first character of every line is a press. A line counts as spoken. With ``buttons``, a line
    of one character is only a press.
    """

    def __init__(self, stream: TextIO, *, buttons: bool = False) -> None:
        self._shortest = 2 if buttons else 1
        self._lines: SimpleQueue[str] = SimpleQueue()
        self._presses: SimpleQueue[None] = SimpleQueue()
        self._reader = threading.Thread(target=self._read, args=(stream,), daemon=True)
        self._reader.start()

    def line(self) -> str | None:
        """Returns the next line, or None if there is none yet."""
        try:
            return self._lines.get_nowait()
        except Empty:
            return None

    def pressed(self) -> bool:
        """True if a key was pressed since the last call."""
        found = False
        while not self._presses.empty():
            self._presses.get()
            found = True
        return found

    def _read(self, stream: TextIO) -> None:
        line = ""
        while character := stream.read(1):
            if not line:
                self._presses.put(None)
            if character in "\r\n":
                if len(text := " ".join(line.split())) >= self._shortest:
                    self._lines.put(text)
                line = ""
            elif character in "\b\x7f":
                line = line[:-1]
            elif len(line) < LONGEST_LINE:
                line += character


class PushButton(TerminalKeyboard):
    """A headset button or pedal that appears as an input device (Linux).

    Reads ``/dev/input/event...``: records of time, type, code and value. A press has type 1 (key)
    and value 1 (source: the kernel's input documentation).
    """

    _EVENT_BYTES = 24
    _KEY, _DOWN = 1, 1

    def __init__(self, path: str, keyboard: Keyboard) -> None:
        """Adds the button's presses to those of ``keyboard``, which supplies the lines. Raises
        OSError.
        """
        self._keyboard = keyboard
        self._presses = SimpleQueue()
        self._handle = os.open(path, os.O_RDONLY)
        self._reader = threading.Thread(target=self._read_button, daemon=True)
        self._reader.start()

    def line(self) -> str | None:
        """Returns the next line of the keyboard."""
        return self._keyboard.line()

    def pressed(self) -> bool:
        """True if the button or the keyboard was pressed since the last call."""
        return any((super().pressed(), self._keyboard.pressed()))

    def _read_button(self) -> None:
        while len(event := os.read(self._handle, self._EVENT_BYTES)) == self._EVENT_BYTES:
            kind, value = (
                int.from_bytes(event[16:18], "little"),
                int.from_bytes(event[20:], "little"),
            )
            if (kind, value) == (self._KEY, self._DOWN):
                self._presses.put(None)


class NoKeyboard:
    """A keyboard without input."""

    def line(self) -> str | None:
        """Returns None."""
        return None

    def pressed(self) -> bool:
        """Returns False."""
        return False


@contextmanager
def unbuffered_keys(stream: TextIO | None = None) -> Iterator[None]:
    """Makes a terminal deliver every key at once instead of whole lines, until the block ends.

    Changes nothing if the stream is not a terminal or the system has no termios.
    """
    stream = sys.stdin if stream is None else stream
    try:
        import termios
        import tty

        handle = stream.fileno()
        before = termios.tcgetattr(handle)
    except (ImportError, OSError, ValueError, termios.error):
        yield
        return
    tty.setcbreak(handle)
    try:
        yield
    finally:
        termios.tcsetattr(handle, termios.TCSADRAIN, before)
