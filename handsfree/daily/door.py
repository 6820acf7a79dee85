"""Finds the door of a daily walk by job file, by visit, or by name."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import NamedTuple

from handsfree.checks.limits import shipped_limits
from handsfree.errors import HandsfreeError, JobError
from handsfree.job.job import Sheet
from handsfree.job_file.loader import load_sheet
from handsfree.journal.reader import JOURNAL
from handsfree.office.visit_folders import places
from handsfree.reports.next_job import next_job, walk_of
from handsfree.reports.next_service import DAILY
from handsfree.visit_record.load import load_record


class Door(NamedTuple):
    """The sheet of a daily walk, and the folder of an unfinished walk, if any."""

    sheet: Sheet
    unfinished: Path | None = None


def find_door(named: str, jobs: Iterable[Path], visits: Path) -> Door:
    """Finds a door by its job file, its visit's folder, or its name among ``jobs`` and ``visits``.

    The last visit is preferred to the job file, because it knows more. Raises JobError if the name
    fits no door, or several.
    """
    path = Path(named)
    if (path / JOURNAL).exists():
        return _of_visit(path)
    if path.is_file():
        return Door(walk_of(load_sheet(path, shipped_limits())))
    return Door(_by_name(named, jobs, visits))


def _of_visit(folder: Path) -> Door:
    visit = load_record(folder)
    if visit.opened.procedure == DAILY and not visit.complete:
        return Door(visit.sheet, folder)
    return Door(walk_of(next_job(visit)))


def _by_name(named: str, jobs: Iterable[Path], visits: Path) -> Sheet:
    words = named.casefold().split()
    found: dict[tuple[str, str], tuple[str, Sheet]] = {}

    def look(when: str, sheet: Sheet) -> None:
        door = (sheet.site, sheet.opening.name)
        text = " ".join(door).casefold()
        if words and all(word in text for word in words):
            found[door] = max(found.get(door, ("", sheet)), (when, sheet), key=lambda each: each[0])

    for file in jobs:
        try:
            look("", load_sheet(file, shipped_limits()))
        except HandsfreeError:
            continue  # 'handsfree visit' reports what is wrong with it
    for place in places(visits):
        try:
            visit = load_record(place.folder)
        except HandsfreeError:
            continue  # 'handsfree verify' reports what is wrong with it
        look(visit.began, next_job(visit))
    whole = [door for door in found if door[1].casefold() == named.casefold()]
    doors = whole if len(whole) == 1 else list(found)
    if not doors:
        raise JobError(
            f"there is no door '{named}' among the job files and visits here",
            way_out="name a job file or a visit, or write a job file: handsfree new",
        )
    if len(doors) > 1:
        names = "; ".join(", ".join(filter(None, reversed(door))) for door in doors[:8])
        raise JobError(f"'{named}' can be several doors: {names}", way_out="give more of its words")
    return walk_of(found[doors[0]][1])
