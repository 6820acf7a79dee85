"""Chooses one of the job files in this folder: those of today, by number."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import NamedTuple

from handsfree.checks.limits import shipped_limits
from handsfree.cli.job_names import JOB_SUFFIX, JOBS
from handsfree.cli.job_questions import choose
from handsfree.cli.terminal import echo
from handsfree.errors import HandsfreeError, JobError
from handsfree.job.job import Sheet
from handsfree.job_file.loader import load_sheet


class FoundJob(NamedTuple):
    """A job file and its sheet."""

    file: Path
    sheet: Sheet


def job_files(folder: Path) -> list[Path]:
    """The job files in a folder and in its folder jobs, by name."""
    return sorted(file for each in (folder, folder / JOBS) for file in each.glob(f"*{JOB_SUFFIX}"))


def find_jobs(folder: Path) -> tuple[list[FoundJob], list[HandsfreeError]]:
    """The job files in a folder and its folder jobs, by day and door, and the faults of others.

    Those without a day come first.
    """
    found: list[FoundJob] = []
    faults: list[HandsfreeError] = []
    for file in job_files(folder):
        try:
            found.append(FoundJob(file, load_sheet(file, shipped_limits())))
        except HandsfreeError as error:
            faults.append(error)
    found.sort(key=lambda job: (job.sheet.date, job.sheet.opening.name.casefold(), job.file))
    return found, faults


def choose_job(today: date) -> Path:
    """The job file that was typed by its number: of those of ``today``, before, or without a day.

    A later one is chosen by its name. Where there are only later ones, they are offered. Raises
    JobError where there is none.
    """
    found, faults = find_jobs(Path())
    for fault in faults:
        echo(f"handsfree: {fault}", err=True)
    if not found:
        raise JobError("there is no job file here", way_out="write one: handsfree new")
    due = [job for job in found if job.sheet.date <= today.isoformat()]
    offered = {_line(job, today): job.file for job in found}
    question = "Jobs of today" if due else "Nothing is planned for today. Later jobs"
    return offered[choose(question, tuple(offered), shown=len(due) or len(found), needed=True)]


def _line(job: FoundJob, today: date) -> str:
    """A job in one line: day, door, site, procedure, file."""
    sheet = job.sheet
    day = "today" if sheet.date == today.isoformat() else sheet.date
    told = (sheet.opening.name, sheet.site, Path(sheet.procedure).stem)
    return f"{day:<10}  {', '.join(filter(None, told))}  ({job.file})"
