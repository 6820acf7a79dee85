"""Prints a visit in short: ``handsfree summary``."""

from __future__ import annotations

from pathlib import Path

import click

from handsfree.cli.terminal import echo
from handsfree.journal.reader import read
from handsfree.reports.summary import summarize
from handsfree.reports.summary_text import summary_text


@click.command()
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--json", "as_json", is_flag=True, help="Print the summary as one JSON object.")
def summary(folder: Path, as_json: bool) -> None:
    """Prints the results of a visit.

    They come from its journal alone.

    \b
    Example:
      handsfree summary visits/harbour-hall
    """
    summed = summarize(read(folder))
    echo(summed.model_dump_json(indent=2) if as_json else summary_text(summed), nl=as_json)
