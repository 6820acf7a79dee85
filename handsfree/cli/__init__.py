"""The command line: one module a command, each a thin shell over the package."""

from __future__ import annotations

import sys
from typing import Any

import click

from handsfree import __version__
from handsfree.cli.check import check
from handsfree.cli.controllers import controllers
from handsfree.cli.hear import hear
from handsfree.cli.limits import limits
from handsfree.cli.model import model
from handsfree.cli.phrases import phrases
from handsfree.cli.procedures import procedures
from handsfree.cli.rehearse import rehearse
from handsfree.cli.report import report
from handsfree.cli.settings import settings
from handsfree.cli.summary import summary
from handsfree.cli.time import time
from handsfree.cli.verify import verify
from handsfree.cli.visit import demo, resume, visit
from handsfree.errors import HandsfreeError


class _Commands(click.Group):
    """Turns an error of the user's into one line on stderr and its exit code."""

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


for command in (demo, visit, resume, summary, check, limits, hear, time, model, procedures):
    main.add_command(command)
main.add_command(controllers)
main.add_command(phrases)
main.add_command(rehearse)
main.add_command(report)
main.add_command(settings)
main.add_command(verify)
