"""The command line: one module a command, each a thin shell over the package."""

from __future__ import annotations

import os
import sys
from contextlib import suppress
from importlib import import_module
from typing import Any

import click

from handsfree import __version__
from handsfree.cli.terminal import echo, never_fail_on_letters
from handsfree.errors import HandsfreeError

# Names of owners and the voices of people lie in what is written: whoever is to see it is given it.
_NOT_OTHERS = 0o077
_NOBODY_READS = 141  # 128 + SIGPIPE, as other programs end then
_MODULES = {"demo": "visit", "resume": "visit", "unpack": "pack"}
_COMMANDS = (
    "demo",
    "visit",
    "resume",
    "summary",
    "report",
    "export",
    "record",
    "pack",
    "unpack",
    "office",
    "ledger",
    "check",
    "limits",
    "hear",
    "sound-check",
    "time",
    "model",
    "procedures",
    "controllers",
    "phrases",
    "rehearse",
    "settings",
    "verify",
)


class _Commands(click.Group):
    """Loads the module of a command when it is asked for: all of them take a second.

    Turns an error of the user's into one line on stderr and its exit code.
    """

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Every command, as it stands in the help."""
        return sorted(_COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command of that name; None where there is none."""
        if cmd_name not in _COMMANDS:
            return None
        name = cmd_name.replace("-", "_")
        module = import_module(f"handsfree.cli.{_MODULES.get(name, name)}")
        command: click.Command = getattr(module, name)
        return command

    def invoke(self, ctx: click.Context) -> Any:
        never_fail_on_letters()
        before = os.umask(_NOT_OTHERS)
        try:
            return super().invoke(ctx)
        except HandsfreeError as error:
            echo(f"handsfree: {error}", err=True)
            sys.exit(error.exit_code)
        except BrokenPipeError:  # as with 'head': whoever read has had enough
            _let_go_of_output()
            sys.exit(_NOBODY_READS)
        except OSError as error:
            reason = (error.strerror or str(error)).lower()
            where = f"{error.filename}: " if error.filename is not None else ""
            if not where:  # a disk that is full, where output goes into a file
                _let_go_of_output()
                where = "what was to be printed cannot be written: "
            echo(f"handsfree: {where}{reason}", err=True)
            sys.exit(HandsfreeError.exit_code)
        finally:
            os.umask(before)


def _let_go_of_output() -> None:
    """At its end Python flushes the output once more, which would fail again."""
    with suppress(OSError, ValueError):
        nothing = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nothing, sys.stdout.fileno())


@click.group(cls=_Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="handsfree")
def main() -> None:
    """A hands-free companion for commissioning low-energy powered swing doors.

    It listens, reads back, keeps the record and compares with the low-energy limits.
    It commands no door and makes none safe: local codes, the authority having
    jurisdiction and licensed practice come first.
    """
