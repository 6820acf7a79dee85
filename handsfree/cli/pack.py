"""Packs a visit into one file to mail, and unpacks it: ``handsfree pack``, ``handsfree unpack``."""

from __future__ import annotations

from pathlib import Path

import click

from handsfree.cli.output_file import write_out
from handsfree.cli.terminal import echo
from handsfree.reports.pack import SUFFIX, name_of
from handsfree.reports.pack import pack as packed
from handsfree.reports.unpack import unpack as unpacked


@click.command()
@click.argument("folder", type=click.Path(path_type=Path))
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    help=f"The file to write; by default the folder's name with {SUFFIX}, in the current folder.",
)
def pack(folder: Path, out: Path | None) -> None:
    """Packs a visit into one file to mail.

    The file holds journal, sound, summary and report. Only a visit that verifies is packed. The
    same visit gives the same bytes.

    \b
    Example:
      handsfree pack visits/harbour-hall
    """
    content = packed(folder)
    out = out or Path(name_of(folder) + SUFFIX)
    write_out(out, content, "the pack")
    echo(f"{out}: {len(content) / 1e6:.1f} MB")


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--into",
    type=click.Path(path_type=Path, file_okay=False),
    default=Path(),
    help="The folder to unpack into; by default the current one.",
)
@click.option("--replace", is_flag=True, help="Replace a visit by a newer state of itself.")
def unpack(file: Path, into: Path, replace: bool) -> None:
    """Unpacks a visit, after checking all of it.

    An existing visit is kept, unless you give --replace and the packed one continues it.

    \b
    Example:
      handsfree unpack harbour-hall.visit.zip --into visits
    """
    done = unpacked(file, into, replace=replace)
    echo(f"{done.folder}: {done.came}")
