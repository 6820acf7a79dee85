"""Takes dropped pictures into a visit: ``handsfree photos``."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from handsfree.cli.terminal import echo
from handsfree.clock import SystemClock
from handsfree.exit_codes import ExitCode
from handsfree.journal.photo_files import DROPPED, PICTURES
from handsfree.journal.reader import read
from handsfree.journal.writer import Journal
from handsfree.visit.photos import take_photos
from handsfree.visit_record.load import load_record


@click.command()
@click.argument("folder", type=click.Path(path_type=Path))
def photos(folder: Path) -> None:
    """Takes dropped pictures into a visit and removes their metadata.

    Put the pictures into its folder photos first. Each is copied without its location, camera or
    personal names. Pictures taken in earlier are kept, and your originals stay where they are. A
    picture that cannot be taken in is named, and the exit code is 1.

    \b
    Example:
      handsfree photos visits/harbour-hall
    """
    with Journal.open(folder, SystemClock().utc()) as journal:
        lines, refused = take_in(journal)
    echo("\n".join(lines) or f"{folder / DROPPED}: no new picture")
    visit = load_record(folder)
    if visit.sign_off is not None and not visit.signed:
        echo("The visit was changed after its sign-off; it needs a new one.")
    sys.exit(ExitCode.FOUND if refused else ExitCode.DONE)


def take_in(journal: Journal) -> tuple[list[str], bool]:
    """Imports the new pictures; returns a line for each, and whether one was refused."""
    kept, refused = take_photos(journal, read(journal.folder), SystemClock().utc())
    lines = [
        *(f"{each.called}: {PICTURES}/{each.file}, {each.width} x {each.height}" for each in kept),
        *(f"{each.name}: not taken: {each.why}" for each in refused),
    ]
    return lines, bool(refused)
