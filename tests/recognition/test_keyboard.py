"""Lines and key presses in addition to the voice."""

from __future__ import annotations

import io
import os
import struct
import time
from collections.abc import Callable
from pathlib import Path

from handsfree.recognition.keyboard import NoKeyboard, PushButton, TerminalKeyboard


def soon(get: Callable[[], object]) -> object:
    """What comes of it within a second; the last answer otherwise."""
    for _ in range(100):
        if found := get():
            return found
        time.sleep(0.01)
    return get()


def test_every_line_is_one_utterance_and_then_there_is_none() -> None:
    keys = TerminalKeyboard(io.StringIO("affirm\n\n  closing  time 4 \n6\nstay\bnd by\n"))
    lines = [soon(keys.line) for _ in range(4)]
    assert lines == ["affirm", "closing time 4", "6", "stand by"]
    assert keys.line() is None


def test_as_a_button_every_first_key_is_a_press_and_longer_lines_are_lines() -> None:
    keys = TerminalKeyboard(io.StringIO(" \naffirm\n"), buttons=True)
    assert soon(keys.line) == "affirm"
    assert keys.pressed()
    assert not keys.pressed()
    assert keys.line() is None


def test_a_line_without_end_does_not_grow_for_ever() -> None:
    line = soon(TerminalKeyboard(io.StringIO("x" * 100_000 + "\n")).line)
    assert line == "x" * 500


def test_a_press_of_the_button_counts_and_its_release_does_not(tmp_path: Path) -> None:
    # Layout of input_event on 64-bit Linux: two 8-byte times, type, code, value.
    device = tmp_path / "event7"
    os.mkfifo(device)
    writer = os.open(device, os.O_RDWR)
    button = PushButton(str(device), NoKeyboard())
    os.write(writer, struct.pack("qqHHi", 0, 0, 0, 0, 0))
    os.write(writer, struct.pack("qqHHi", 0, 0, 1, 164, 0))
    time.sleep(0.1)
    assert not button.pressed()
    os.write(writer, struct.pack("qqHHi", 0, 0, 1, 164, 1))
    assert soon(button.pressed)
    assert not button.pressed()
    os.close(writer)
