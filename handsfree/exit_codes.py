"""The exit codes of every command; docs/commands.md has the same table."""

from __future__ import annotations

from enum import IntEnum

SIGNAL_BASE = 128
"""Added to a signal's number, as in shells: 143 after SIGTERM."""


class ExitCode(IntEnum):
    """The exit code of a command."""

    DONE = 0
    """The command did its work and found nothing wrong."""
    FOUND = 1
    """The command did its work and found something wrong: a reading fails, a journal is broken."""
    BAD_INPUT = 2
    """The command could not do its work: an option, a file, a device or a setting is wrong."""
    INTERRUPTED = SIGNAL_BASE + 2
    """Ctrl+C ended it (SIGINT)."""
    OUTPUT_CLOSED = SIGNAL_BASE + 13
    """The program that read its output ended first (SIGPIPE), as with 'head'."""
    TERMINATED = SIGNAL_BASE + 15
    """The system asked it to end (SIGTERM)."""
