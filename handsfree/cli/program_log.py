"""Appends what the program did to a file: ``handsfree --log FILE COMMAND``.

The log holds times, the command's name, the kinds of journal events, devices, files and errors. It
never holds spoken words, readings or the values of options. docs/commands.md shows a log.
"""

from __future__ import annotations

import logging
import platform
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import click

from handsfree import __version__
from handsfree.errors import HandsfreeError, SettingsError
from handsfree.exit_codes import ExitCode

_LOG = logging.getLogger("handsfree")


class _Line(logging.Formatter):
    """One record per line: time in UTC, level, module, message."""

    converter = staticmethod(time.gmtime)
    default_time_format = "%Y-%m-%dT%H:%M:%S"
    default_msec_format = "%s.%03dZ"

    def format(self, record: logging.LogRecord) -> str:
        # A newline in a file name would start a false line in the log.
        return super().format(record).replace("\r", "\\r").replace("\n", "\n  ")


@contextmanager
def logging_to(file: Path) -> Iterator[None]:
    """Logs to ``file`` while the context lasts, then notes how the program ended.

    Raises SettingsError if the file cannot be opened.
    """
    try:
        handler = logging.FileHandler(file, encoding="utf-8", errors="backslashreplace")
    except OSError as error:
        raise SettingsError(
            f"the log cannot be written: {(error.strerror or str(error)).lower()}",
            file=file,
            way_out="name another file with --log",
        ) from error
    handler.setFormatter(_Line("%(asctime)s %(levelname)s %(name)s: %(message)s"))
    # Without a handler of its own a logger's warnings go to stderr; this keeps them there.
    handlers = [each for each in (handler, logging.lastResort) if each is not None]
    before = _LOG.level
    for each in handlers:
        _LOG.addHandler(each)
    _LOG.setLevel(logging.INFO)
    system = f"Python {platform.python_version()}, {platform.system()} {platform.machine()}"
    _LOG.info("handsfree %s, %s", __version__, system)
    try:
        yield
        _LOG.info("ended with exit code %d", ExitCode.DONE)
    except BaseException as error:
        _note_end(error)
        raise
    finally:
        _LOG.setLevel(before)
        for each in handlers:
            _LOG.removeHandler(each)
        handler.close()


def note_command(name: str | None) -> None:
    """Notes which command runs."""
    _LOG.info("command %s", name)


def _note_end(error: BaseException) -> None:
    match error:
        case HandsfreeError(exit_code=code):
            _LOG.error("ended with exit code %d: %s", code, error)
        case click.ClickException(exit_code=code):
            _LOG.error("ended with exit code %d: %s", code, error.format_message())
        case SystemExit(code=code) | click.exceptions.Exit(exit_code=code):
            _LOG.info("ended with exit code %s", code or 0)
        case KeyboardInterrupt():
            _LOG.info("ended with exit code %d: interrupted", ExitCode.INTERRUPTED)
        case _:
            _LOG.error("ended by an error", exc_info=error)
