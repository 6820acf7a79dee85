"""Writes the owner's record as PDF: ``handsfree record``."""

from __future__ import annotations

from pathlib import Path

import click

from handsfree.cli.output_file import end_broken, write_out
from handsfree.cli.terminal import echo
from handsfree.reports.record_pdf import record_pdf
from handsfree.visit_record.load import load_record

RECORD = "record.pdf"


@click.command()
@click.argument("folder", type=click.Path(path_type=Path))
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    help=f"The file to write; by default {RECORD} in the visit's folder.",
)
def record(folder: Path, out: Path | None) -> None:
    """Writes the owner's record as PDF.

    One or two pages: the opening, the work done, readings against limits, open items, daily
    checks, next service, sign-off, and the journal's hash. Of a broken journal it holds the
    intact part and says so in its first sentence, and the exit code is 1.

    \b
    Example:
      handsfree record visits/harbour-hall
    """
    visit = load_record(folder)
    content = record_pdf(visit)
    out = out or folder / RECORD
    write_out(out, content, "the record")
    echo(f"{out}: {len(content) / 1000:.0f} kB")
    end_broken(visit)
