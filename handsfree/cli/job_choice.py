"""Chooses one of the job files in this folder: those of today, by number."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager
from datetime import date
from pathlib import Path
from typing import NamedTuple

from handsfree.checks.limits import shipped_limits
from handsfree.cli.job_names import JOB_SUFFIX, JOBS
from handsfree.cli.job_questions import choose, spoken_day
from handsfree.cli.terminal import echo
from handsfree.errors import HandsfreeError, JobError
from handsfree.job.job import Sheet
from handsfree.job_file.loader import load_sheet
from handsfree.language.wording import Wording, wording
from handsfree.procedure.loader import load_procedure, shipped_procedures
from handsfree.visit.spoken_question import SpokenQuestion

Asking = AbstractContextManager[SpokenQuestion]
"""A spoken question; its devices are open while the context lasts."""


class FoundJob(NamedTuple):
    """A job file and its sheet."""

    file: Path
    sheet: Sheet


def job_files(folder: Path) -> list[Path]:
    """The job files in a folder and in its subfolder jobs, by name."""
    return sorted(file for each in (folder, folder / JOBS) for file in each.glob(f"*{JOB_SUFFIX}"))


def find_jobs(folder: Path) -> tuple[list[FoundJob], list[HandsfreeError]]:
    """The job files in a folder and in its subfolder jobs, sorted by day and door, and the faults
    of the unreadable ones.

    Jobs without a day come first.
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


def choose_job(today: date, asked: Callable[[Wording], Asking] | None = None) -> Path:
    """The job file that the user picks by number, of those for ``today``, for earlier, or undated.

    A job for a later day is chosen by name, unless there are only later ones. ``asked`` opens a
    spoken question in a language; without it the choice is typed. Raises JobError if there is no
    job file, or none was chosen.
    """
    found, faults = find_jobs(Path())
    for fault in faults:
        echo(f"handsfree: {fault}", err=True)
    if not found:
        raise JobError("there is no job file here", way_out="write one: handsfree new")
    due = [job for job in found if job.sheet.date <= today.isoformat()]
    if asked is not None:
        return _chosen_by_voice(found, len(due), today, asked)
    offered = {_line(job, today): job.file for job in found}
    question = "Jobs of today" if due else "Nothing is planned for today. Later jobs"
    return offered[choose(question, tuple(offered), shown=len(due) or len(found), needed=True)]


def _line(job: FoundJob, today: date) -> str:
    """A job in one line: day, door, site, procedure, file."""
    sheet = job.sheet
    day = "today" if sheet.date == today.isoformat() else sheet.date
    told = (sheet.opening.name, sheet.site, Path(sheet.procedure).stem)
    return f"{day:<10}  {', '.join(filter(None, told))}  ({job.file})"


def _chosen_by_voice(
    found: list[FoundJob], due: int, today: date, asked: Callable[[Wording], Asking]
) -> Path:
    """The job chosen by voice; the question is asked in the language of the first job."""
    w = wording(found[0].sheet.language)
    question = w.say("which_job" if due else "which_later_job")
    lines = [_spoken(job, today, w) for job in found]
    with asked(w) as spoken:
        chosen = spoken.ask(question, lines, shown=due or len(found))
    if not isinstance(chosen, int):
        raise JobError("no job was chosen", way_out="name its file: handsfree visit --job FILE")
    return found[chosen].file


def _spoken(job: FoundJob, today: date, w: Wording) -> str:
    """A job as it is read aloud: door, building, visit, and its day unless that is today."""
    sheet = job.sheet
    told = [sheet.opening.name, sheet.site]
    if sheet.procedure in shipped_procedures(sheet.language):
        told.append(load_procedure(sheet.procedure, None, sheet.language).title.partition(". ")[0])
    elif sheet.procedure:
        told.append(Path(sheet.procedure).stem)
    if sheet.date and sheet.date != today.isoformat():
        told.append(spoken_day(w, date.fromisoformat(sheet.date), today))
    return ", ".join(filter(None, told))
