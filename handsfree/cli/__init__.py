"""The command line: one module per command, each a thin shell over the package."""

from __future__ import annotations

import gc
import os
import sys
from contextlib import suppress
from importlib import import_module
from pathlib import Path
from typing import Any

import click
from click.shell_completion import CompletionItem

from handsfree import __version__, interrupts
from handsfree.cli.command_table import COMMANDS
from handsfree.cli.terminal import echo, never_fail_on_letters
from handsfree.errors import HandsfreeError
from handsfree.exit_codes import ExitCode

# What these write holds owners' names and people's voices: only the user may read it.
_NOT_OTHERS = 0o077
# These write nothing personal, and an administrator runs them for everybody.
_FOR_OTHERS = ("model", "phrases", "phone")
_BEFORE = "handsfree.umask"


class _Commands(click.Group):
    """Imports a command's module when the command is called; an error ends in one line of text.

    Help and completion come from the table of commands, because importing all modules takes a
    second.
    """

    def list_commands(self, ctx: click.Context) -> list[str]:
        """The names of all commands, sorted."""
        return sorted(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command of that name, imported now; None if there is no such command."""
        entry = COMMANDS.get(cmd_name)
        if entry is None:
            return None
        module = import_module(f"handsfree.cli.{entry.module}")
        _collect_garbage_again()
        command: click.Command = getattr(module, cmd_name.replace("-", "_"))
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Writes the list of commands."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, COMMANDS[name].help) for name in self.list_commands(ctx)])

    def shell_complete(self, ctx: click.Context, incomplete: str) -> list[CompletionItem]:
        """The commands that begin with what was typed, or the options."""
        names = [name for name in self.list_commands(ctx) if name.startswith(incomplete)]
        options = click.Command.shell_complete(self, ctx, incomplete)
        return [CompletionItem(name, help=COMMANDS[name].help) for name in names] + options

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """The command that is called, with its modules imported."""
        name, command, rest = super().resolve_command(ctx, args)
        interrupts.raise_again()
        if name in _FOR_OTHERS:
            os.umask(ctx.meta[_BEFORE])
        return name, command, rest

    def main(self, *args: Any, **options: Any) -> Any:
        """Runs a command and exits; exits at once if a call into the sound system still hangs."""
        try:
            return super().main(*args, **options)
        except SystemExit as ended:
            if _sound_is_stuck():
                for stream in (sys.stdout, sys.stderr):
                    with suppress(OSError, ValueError, AttributeError):
                        stream.flush()
                os._exit(ended.code if isinstance(ended.code, int) else ExitCode.BAD_INPUT)
            raise

    def invoke(self, ctx: click.Context) -> Any:
        never_fail_on_letters()
        before = ctx.meta[_BEFORE] = os.umask(_NOT_OTHERS)
        try:
            if ctx.params["log_file"] is None:
                return super().invoke(ctx)
            from handsfree.cli.program_log import logging_to

            with logging_to(ctx.params["log_file"]):
                return super().invoke(ctx)
        except HandsfreeError as error:
            _complain(f"handsfree: {error}")
            sys.exit(error.exit_code)
        except KeyboardInterrupt:
            _complain("handsfree: interrupted")
            sys.exit(ExitCode.INTERRUPTED)
        except BrokenPipeError:
            _let_go_of_output()
            sys.exit(ExitCode.OUTPUT_CLOSED)
        except OSError as error:
            reason = (error.strerror or str(error)).lower()
            where = f"{error.filename}: " if error.filename is not None else ""
            if not where:  # the disk is full while the output goes to a file
                _let_go_of_output()
                where = "the output cannot be written: "
            _complain(f"handsfree: {where}{reason}")
            sys.exit(ExitCode.BAD_INPUT)
        finally:
            os.umask(before)


def _sound_is_stuck() -> bool:
    used = sys.modules.get("handsfree.audio.portaudio_thread")  # slow to import
    return used is not None and used.SOUND_THREAD.stuck


def _complain(message: str) -> None:
    """Prints a message; whether anybody can still read it does not change the exit code."""
    try:
        echo(message, err=True)
    except OSError:
        _let_go_of_output()


def _let_go_of_output() -> None:
    """Discards further output: Python flushes once more at exit and would fail again.

    Messages are kept if they still have a reader.
    """
    with suppress(OSError, ValueError):
        nothing = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nothing, sys.stdout.fileno())
        try:
            sys.stderr.flush()
        except OSError:
            os.dup2(nothing, sys.stderr.fileno())


def _collect_garbage_again() -> None:
    """Ends the pause for the imports, whose objects live as long as the program."""
    if not gc.isenabled():
        gc.freeze()
        gc.enable()


@click.group(cls=_Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="handsfree")
@click.option(
    "--log",
    "log_file",
    type=click.Path(dir_okay=False, path_type=Path),
    help="Append what the program does to this file, a line each.",
)
@click.pass_context
def main(context: click.Context, log_file: Path | None) -> None:
    """A hands-free companion for commissioning low-energy powered swing doors.

    It listens, reads back, keeps the record and compares with the low-energy limits.
    It commands no door and makes none safe: local codes, the authority having
    jurisdiction and licensed practice come first.
    """
    if log_file is not None:
        from handsfree.cli.program_log import note_command

        note_command(context.invoked_subcommand)
