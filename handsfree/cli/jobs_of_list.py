"""Writes the job files of a list of doors, and names each row that is wrong."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path

from handsfree.checks.limits import load_limits, shipped_limits
from handsfree.cli.job_names import JOB_SUFFIX, slug
from handsfree.cli.terminal import echo
from handsfree.controllers.guide_loader import load_guide
from handsfree.errors import HandsfreeError, JobError
from handsfree.job.job import Sheet
from handsfree.job_file.door_list import Headings, doors_of, unread_words
from handsfree.job_file.list_file import read_rows
from handsfree.job_file.loader import with_whole_paths
from handsfree.job_file.writer import job_text
from handsfree.procedure.loader import load_procedure


def write_jobs(file: Path, folder: Path) -> bool:
    """Writes the good rows of a list into a folder; True if a row was wrong.

    Wrong rows and unused columns are named on stderr. Raises JobError if the list, or every row of
    it, is unusable.
    """
    listed = doors_of(read_rows(file), file)
    for heading in listed.headings.unread:
        way_out = unread_words(heading)
        echo(f"handsfree: {file}: column '{heading}' is ignored ({way_out})", err=True)
    faults: list[HandsfreeError] = []
    written: dict[str, int] = {}
    known = shipped_limits()
    for row, wrong, sheet in listed.doors:
        found = list(wrong)
        if sheet is not None:
            whole = with_whole_paths(sheet, file.parent, known)
            found += _wrong_names(listed.headings, row, sheet, whole)
            if not found:
                found += _written(listed.headings, row, whole, folder, written)
        faults += found
    for fault in faults:
        echo(f"handsfree: {fault}", err=True)
    if not written and not faults:
        raise JobError(
            "the list has no door below its first row",
            file=file,
            way_out="write one door in each row",
        )
    if not written:
        raise JobError("no job file was written", file=file, way_out="correct the rows named above")
    echo(f"Job files in {folder}: {len(written)}")
    if faults:
        echo(f"Faults in the list: {len(faults)}. Correct them and run it again.")
    return bool(faults)


def _wrong_names(
    headings: Headings, row: int, told: Sheet, whole: Sheet
) -> Iterator[HandsfreeError]:
    """The faults of the procedure, the guide and the limits that a row names."""
    for key, load in (("procedure", _procedure), ("controller_guide", _guide), ("limits", _limits)):
        if (named := getattr(whole, key)) and (why := load(named, whole.language)) is not None:
            yield headings.fault(row, key, getattr(told, key), why.message, why.way_out)


def _fault_of(load: Callable[[], object]) -> HandsfreeError | None:
    try:
        load()
    except HandsfreeError as error:
        return error
    return None


@cache
def _procedure(name: str, language: str) -> HandsfreeError | None:
    return _fault_of(lambda: load_procedure(name, None, language))


@cache
def _guide(name: str, language: str) -> HandsfreeError | None:
    return _fault_of(lambda: load_guide(name, language))


@cache
def _limits(name: str, language: str) -> HandsfreeError | None:
    return _fault_of(lambda: load_limits(name))


def _written(
    headings: Headings, row: int, sheet: Sheet, folder: Path, written: dict[str, int]
) -> Iterator[HandsfreeError]:
    """Writes a row's job file, and notes its text; yields the fault where that cannot be done.

    An existing file with the same text counts as written, so that a corrected list can be run
    again.
    """
    text, name = job_text(sheet, f"From row {row} of {headings.file.name}"), sheet.opening.name
    known = text.partition("\n")[2]
    if known in written:
        message = f"it is the same door as in row {written[known]}"
        yield headings.fault(row, "name", name, message, "leave one out")
        return
    named = sheet.reference if sheet.reference != name else sheet.site
    stem = slug(f"{named} {name}", "door")
    folder.mkdir(parents=True, exist_ok=True)
    for nth in range(1, len(written) + 2):
        file = folder / f"{stem}{'' if nth == 1 else f'-{nth}'}{JOB_SUFFIX}"
        try:
            with file.open("x", encoding="utf-8") as new:
                new.write(text)
        except FileExistsError:
            there = file.read_text(encoding="utf-8", errors="replace").partition("\n")[2]
            if there == known:
                break
            if there not in written:
                message = f"{file} is there already, and differs"
                yield headings.fault(row, "name", name, message, "remove that file")
                return
        else:
            break
    written[known] = row
