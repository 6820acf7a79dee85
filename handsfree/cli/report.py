"""Writes a visit as one page that the office and the owner can open: ``handsfree report``."""

from __future__ import annotations

import webbrowser
from pathlib import Path

import click

from handsfree.cli.output_file import end_broken, write_out
from handsfree.cli.terminal import echo
from handsfree.reports.embedded_photos import InlinePhotos
from handsfree.reports.embedded_sound import InlineSound, NoSound
from handsfree.reports.report_html import report_html
from handsfree.visit_record.load import load_record

REPORT = "report.html"


@click.command()
@click.argument("folder", type=click.Path(path_type=Path))
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    help=f"The page's file; by default {REPORT} in the visit's folder.",
)
@click.option("--silent", is_flag=True, help="Leave the sound out: the page is small then.")
@click.option("--open", "show", is_flag=True, help="Open the page in the browser.")
def report(folder: Path, out: Path | None, silent: bool, show: bool) -> None:
    """Writes a visit as one HTML page with its charts and its sound.

    The page opens from disk and needs no network. Of a broken journal it shows the intact part
    and says where it is broken, and the exit code is 1.

    \b
    Example:
      handsfree report visits/harbour-hall --open
    """
    visit = load_record(folder)
    sound = NoSound() if silent else InlineSound(folder)
    page = report_html(visit, sound, photos=InlinePhotos(folder))
    out = out or folder / REPORT
    write_out(out, page.encode(), "the report")
    echo(f"{out}: {len(page.encode()) / 1e6:.1f} MB")
    if show:
        webbrowser.open(out.resolve().as_uri())
    end_broken(visit)
