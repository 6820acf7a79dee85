"""Checks that a visit's journal and sound are intact: ``handsfree verify``."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from handsfree.checks.number_format import counted
from handsfree.cli.terminal import echo
from handsfree.exit_codes import ExitCode
from handsfree.journal import reader


@click.command()
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--json", "as_json", is_flag=True, help="Print what was found as one JSON object.")
def verify(folder: Path, as_json: bool) -> None:
    """Checks that a visit's journal and sound are as they were written.

    Exit code 0: they are. 1: they are not, with the line and what it means. 2: no journal.

    \b
    Example:
      handsfree verify visits/harbour-hall
    """
    found = reader.verify(folder)
    if as_json:
        echo(found.model_dump_json(indent=2))
    elif found.broken is not None:
        broken = found.broken
        echo(
            f"{folder / reader.JOURNAL}, line {broken.line}: {broken.reason}\n"
            f"This means: {broken.meaning}.\n"
            f"Intact before it: {counted(found.lines, 'line')}."
        )
    else:
        echo(
            f"{folder / reader.JOURNAL}: whole, {counted(found.lines, 'line')}, "
            f"{counted(found.clips, 'clip')}, "
            f"{counted(found.recovered, 'unfinished line')} set aside\nhead {found.head}"
        )
    sys.exit(ExitCode.DONE if found.whole else ExitCode.FOUND)
