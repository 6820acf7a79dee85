"""The command line: one module a command, each a thin shell over the package."""

from __future__ import annotations

import os
import sys
from importlib import import_module
from typing import Any

import click

from handsfree import __version__
from handsfree.errors import HandsfreeError

# Before numpy is there, which reads it once: its threads wait for each other in a loop, and on a
# busy computer the stopwatch falls behind by them. One is as fast for matrices so small.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

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
        try:
            return super().invoke(ctx)
        except HandsfreeError as error:
            click.echo(f"handsfree: {error}", err=True)
            sys.exit(error.exit_code)


@click.group(cls=_Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="handsfree")
def main() -> None:
    """A hands-free companion for commissioning low-energy powered swing doors.

    It listens, reads back, keeps the record and compares with the low-energy limits.
    It commands no door and makes none safe: local codes, the authority having
    jurisdiction and licensed practice come first.
    """
