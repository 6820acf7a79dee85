"""Takes dropped pictures into a visit: ``handsfree photos``."""

from __future__ import annotations

from pathlib import Path

import click

from handsfree.cli.terminal import echo
from handsfree.clock import SystemClock
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
    personal names. Pictures taken in earlier are kept, and your originals stay where they are.

    \b
    Example:
      handsfree photos visits/harbour-hall
    """
    with Journal.open(folder, SystemClock().utc()) as journal:
        lines = take_in(journal)
    echo("\n".join(lines) or f"{folder / DROPPED}: no new picture")
    visit = load_record(folder)
    if visit.sign_off is not None and not visit.signed:
        echo("The visit was changed after its sign-off; it needs a new one.")


def take_in(journal: Journal) -> list[str]:
    """Imports the new pictures into an open journal; returns a line for each, accepted or
    refused.
    """
    kept, refused = take_photos(journal, read(journal.folder), SystemClock().utc())
    return [
        *(f"{each.called}: {PICTURES}/{each.file}, {each.width} x {each.height}" for each in kept),
        *(f"{each.name}: not taken: {each.why}" for each in refused),
    ]
