"""Writes job files: from answers, from a door's last visit, or from a list of doors."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import Any

import click

from handsfree.cli.job_names import JOB_SUFFIX, JOBS, slug
from handsfree.cli.job_questions import asked_sheet, sheet_of_options
from handsfree.cli.jobs_of_list import write_jobs
from handsfree.cli.microphone_options import live_of, live_options
from handsfree.cli.terminal import echo
from handsfree.clock import SystemClock
from handsfree.errors import JobError, JournalError
from handsfree.exit_codes import ExitCode
from handsfree.job.job import Sheet
from handsfree.job_file.writer import job_text
from handsfree.language.wording import ENGLISH, wording
from handsfree.settings import load_settings


@click.command()
@click.option("--name", help="The name of the opening; nothing is asked then.")
@click.option(
    "--from",
    "visit",
    type=click.Path(path_type=Path),
    help="Take the door from this visit, with all that was found out.",
)
@click.option("--door", help="Take the door from its last visit, as the ledger has it.")
@click.option(
    "--ledger",
    envvar="HANDSFREE_LEDGER",
    help="The ledger for --door: a file, sqlite:///FILE or postgresql://USER@HOST/NAME.",
)
@click.option(
    "--list",
    "doors",
    type=click.Path(path_type=Path),
    help="Write a job file for each row of this list of doors (CSV or XLSX).",
)
@click.option("--listen", is_flag=True, help="Ask by voice, in the language of --language.")
@click.option("--reference", help="The number of the work order.")
@click.option("--site", help="The building.")
@click.option("--technician", help="Who makes the visit.")
@click.option("--date", help="The day of the visit: 2026-12-01.")
@click.option("--procedure", help="A procedure's name or file.")
@click.option("--controller", "controller_guide", help="The guide of the controller.")
@click.option("--language", help="The language of the visit.")
@live_options
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    help="The job file; by default named after the door. With --list the folder, by default jobs.",
)
def new(
    visit: Path | None,
    door: str | None,
    ledger: str | None,
    doors: Path | None,
    listen: bool,
    out: Path | None,
    microphone: str | None,
    loudspeaker: str | None,
    headset: bool | None,
    push_to_talk: bool | None,
    button: str | None,
    **stated: str | None,
) -> None:
    """Writes a job file: from answers, a last visit, or a list of doors.

    Without an option it asks, one line at a time; Enter leaves a question to the visit. With
    --listen it asks by voice: say a number, spell a name, or type it. The first row of a list
    names its columns, in any order: name, site, reference, technician, date, procedure, swing,
    width and so on (docs/jobs.md). A wrong row is named with its column, its value and the way
    out, and the others are written: then the exit code is 1.

    \b
    Examples:
      handsfree new
      handsfree new --listen
      handsfree new --name "north entrance" --site "Harbour Hall" --procedure yearly-service
      handsfree new --from visits/hh-0417-20261130-091500
      handsfree new --door "harbour north"
      handsfree new --list doors.xlsx --out jobs
    """
    if sum(each is not None for each in (stated["name"], visit, door, doors)) > 1:
        raise click.UsageError("give only one of --name, --from, --door and --list")
    options = {key: value for key, value in stated.items() if value is not None}
    devices = {
        "microphone": microphone,
        "loudspeaker": loudspeaker,
        "headset": headset,
        "push_to_talk": push_to_talk,
        "button": button,
    }
    if listen and (visit, door, doors, stated["name"]) != (None, None, None, None):
        raise click.UsageError(
            "--listen asks for all of it: leave out --name, --from, --door, --list"
        )
    if not listen and any(each is not None for each in devices.values()):
        raise click.UsageError("a microphone is needed with --listen only")
    if doors is not None:
        if options:
            raise click.UsageError("a list has its own columns: leave out the other options")
        found_wrong = write_jobs(doors, out or JOBS)
        sys.exit(ExitCode.FOUND if found_wrong else ExitCode.DONE)
    folder, came_from = visit, ""
    if door is not None:
        folder = _last_visit(door, ledger)
    if folder is not None:
        sheet, came_from = _of_visit(folder), f"From the visit in {folder}"
        sheet = sheet_of_options(options, sheet)
    elif listen:
        sheet = _heard_sheet(options, devices)
    else:
        sheet = sheet_of_options(options) if "name" in options else asked_sheet(options)
    file = out or Path(f"{slug(sheet.reference, 'job')}{JOB_SUFFIX}")
    _write(file, job_text(sheet, came_from, _named_from(file, folder)))
    echo(f"Written: {file}")
    echo(f"Start the visit with: handsfree visit --job {file}")


def _heard_sheet(options: dict[str, str], devices: dict[str, Any]) -> Sheet:
    """The sheet from spoken answers. Raises SoundError, ModelError, or JobError if it was
    stopped.
    """
    from handsfree.cli.job_choice import find_jobs  # slow to import
    from handsfree.cli.job_interview import interviewed_sheet, spoken_question

    settings, w = load_settings(), wording(options.get("language", ENGLISH))
    today = SystemClock().utc().astimezone().date()
    others = [found.sheet for found in find_jobs(Path())[0]]
    with spoken_question(w, settings, live_of(settings, devices)) as asked:
        sheet = interviewed_sheet(asked, w, options, today, others)
        asked.tell(w.say("new_written"))
    return sheet


def _named_from(file: Path, folder: Path | None) -> str:
    """The path of the last visit for the job file; '' without one, or if its journal is broken."""
    from handsfree.visit_record.load import load_record  # slow to import

    if folder is None or load_record(folder).head is None:
        return ""
    try:
        return Path(os.path.relpath(folder.resolve(), file.parent.resolve())).as_posix()
    except ValueError:  # on another drive
        return folder.resolve().as_posix()


def _of_visit(folder: Path) -> Sheet:
    from handsfree.reports.next_job import next_job  # slow to import
    from handsfree.visit_record.load import load_record

    return next_job(load_record(folder))


def _last_visit(door: str, ledger: str | None) -> Path:
    """The folder of the last visit to a door. Raises LedgerError, or JournalError if the folder is
    gone.
    """
    from handsfree.ledger.database import open_ledger  # slow to import
    from handsfree.ledger.queries import last_folder

    url = ledger if ledger is None or "://" in ledger else f"sqlite:///{ledger}"
    with open_ledger(url, make=False) as opened:
        folder = Path(last_folder(opened, door))
    if not folder.is_dir():
        raise JournalError(
            "the door's last visit is no longer here",
            file=folder,
            way_out="name the folder it was moved to: handsfree new --from FOLDER",
        )
    return folder


def _write(file: Path, text: str) -> None:
    """Writes a new file. Raises JobError if it exists already."""
    try:
        with file.open("x", encoding="utf-8") as written:
            written.write(text)
    except FileExistsError as error:
        raise JobError(
            "the file already exists", file=file, way_out="name another file with --out"
        ) from error
