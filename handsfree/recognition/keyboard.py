"""A keyboard beside the voice: lines that are typed, and any key as a button to talk."""

from __future__ import annotations

import os
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from queue import Empty, SimpleQueue
from typing import Protocol, TextIO

LONGEST_LINE = 500
"""Characters; what is typed beyond is cut off."""


class Keyboard(Protocol):
    """Somebody who may type, or press a key, at any time."""

    def line(self) -> str | None:
        """The next line that was typed; None while there is none."""
        ...

    def pressed(self) -> bool:
        """Whether a key was pressed since this was asked last."""
        ...


class Keys:
    """Reads a stream in a thread of its own, character by character.

    Every first character of a line is a press. A line is taken as if it had been said; where
    keys are ``buttons`` to talk, one of a single character is a press and nothing else.
    """

    def __init__(self, stream: TextIO, *, buttons: bool = False) -> None:
        self._shortest = 2 if buttons else 1
        self._lines: SimpleQueue[str] = SimpleQueue()
        self._presses: SimpleQueue[None] = SimpleQueue()
        self._reader = threading.Thread(target=self._read, args=(stream,), daemon=True)
        self._reader.start()

    def line(self) -> str | None:
        """The next line; None while there is none."""
        try:
            return self._lines.get_nowait()
        except Empty:
            return None

    def pressed(self) -> bool:
        """Whether a key was pressed since this was asked last."""
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


class Button(Keys):
    """A button of a headset or a pedal that the system shows as an input device (Linux).

    Reads ``/dev/input/event...``: records of a time, a type, a code and a value; a press is of
    type 1 (key) with value 1 (source: the kernel's input documentation).
    """

    _EVENT_BYTES = 24
    _KEY, _DOWN = 1, 1

    def __init__(self, path: str, keyboard: Keyboard) -> None:
        """Presses come from the button too, lines from ``keyboard``. Raises OSError."""
        self._keyboard = keyboard
        self._presses = SimpleQueue()
        self._handle = os.open(path, os.O_RDONLY)
        self._reader = threading.Thread(target=self._read_button, daemon=True)
        self._reader.start()

    def line(self) -> str | None:
        """The next line of the keyboard."""
        return self._keyboard.line()

    def pressed(self) -> bool:
        """Whether button or keyboard were pressed since this was asked last."""
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
    """Nobody types."""

    def line(self) -> str | None:
        """None, always."""
        return None

    def pressed(self) -> bool:
        """Never."""
        return False


@contextmanager
def single_keys(stream: TextIO | None = None) -> Iterator[None]:
    """While it lasts a terminal gives every key at once, not whole lines only.

    Nothing changes where the stream is no terminal, or on a system without termios.
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
