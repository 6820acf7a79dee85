"""Opens the daily walk of a door as a page for a phone: ``handsfree daily``."""

from __future__ import annotations

import webbrowser
from pathlib import Path

import click

from handsfree.cli.job_choice import job_files
from handsfree.cli.job_names import slug
from handsfree.cli.output_file import keep_summary
from handsfree.cli.terminal import echo
from handsfree.clock import SystemClock
from handsfree.daily.app import DailyPage, new_folder
from handsfree.daily.door import find_door
from handsfree.daily.walk import DailyWalk
from handsfree.journal.reader import read
from handsfree.language.wording import wording
from handsfree.office.server import Served, serve_app
from handsfree.reports.summary import summarize

PORT = 8418
VISITS = Path("visits")


@click.command()
@click.argument("door")
@click.option(
    "--visits",
    type=click.Path(path_type=Path),
    default=VISITS,
    show_default=True,
    help="The folder of visits: where the door is looked for, and the walk is kept.",
)
@click.option("--language", help="The language of the walk; by default that of the door's job.")
@click.option(
    "--port",
    type=click.IntRange(0, 65535),
    default=PORT,
    show_default=True,
    help="The port; 0 takes a free one.",
)
@click.option("--host", default="127.0.0.1", show_default=True, help="Where it can be reached.")
@click.option("--open", "show", is_flag=True, help="Open it in the browser.")
def daily(door: str, visits: Path, language: str | None, port: int, host: str, show: bool) -> None:
    """Opens the daily walk of a door as a page for a phone, and saves it as a visit.

    DOOR is the name of a door that has a job file or a visit here, or the path of one. To continue
    an unfinished walk, name its folder. For a phone, --host 0.0.0.0 lets the network reach the
    page, and prints its address as a QR code. Press Ctrl+C to stop it.

    \b
    Examples:
      handsfree daily "north entrance"
      handsfree daily harbour-hall.job.toml --host 0.0.0.0
      handsfree daily visits/north-entrance-daily-20261201-070500
    """
    found = find_door(door, job_files(Path()), visits)
    sheet = found.sheet
    if language is not None:
        sheet = sheet.model_copy(update={"language": wording(language).language})
    stem = slug(sheet.opening.name, "door")
    walk = DailyWalk(sheet, lambda: new_folder(visits, stem, _now()), _ended)
    if found.unfinished is not None:
        walk.resume(found.unfinished)

    def told(served: Served) -> None:
        echo(f"The daily walk of {sheet.opening.name} is open: {served.address}")
        if served.beyond:
            import segno

            segno.make(served.address, micro=False).terminal(compact=True)
            echo(
                "Anyone in this network who has this address with its token can make the walk."
                " Nothing is encrypted on the way: use it in a network that you trust.",
                err=True,
            )
        echo("Ctrl+C ends it.")
        if show:
            webbrowser.open(served.address)

    serve_app(lambda house: DailyPage(walk, house).app(), host, port, told)


def _ended(folder: Path) -> None:
    summed = summarize(read(folder))
    keep_summary(folder, summed)
    echo(f"{summed.verdict} Kept in {folder}")


def _now() -> str:
    return f"{SystemClock().utc():%Y%m%d-%H%M%S}"
