"""A job for the phone: the sheet, the files that it names, and the last visit's results."""

from __future__ import annotations

import json
import tempfile
from datetime import date
from pathlib import Path
from typing import Annotated

from pydantic import Field, ValidationError

from handsfree.checks.limits import load_limits, shipped_limits
from handsfree.controllers.guide_loader import load_guide, shipped_guides
from handsfree.errors import HandsfreeError, JobError
from handsfree.job.job import Sheet
from handsfree.job.record import Record
from handsfree.job_file.loader import load_sheet, parse_sheet, with_whole_paths
from handsfree.procedure.loader import load_procedure, shipped_procedures
from handsfree.toml_source import TomlSource, file_bytes
from handsfree.visit.last_visit import visit_reader

JOB_FILES = "job"
"""The folder of a visit on a phone for the files that its job names."""
_NAMING = ("limits", "procedure", "controller_guide")
FileName = Annotated[str, Field(pattern=r"^[^/\\\\.\x00][^/\\\\\x00]{0,99}$")]
_MAKE = "handsfree phone job makes a job for the phone that carries them"


class CarriedJob(Record):
    """A sheet whose limits, procedure and guide are shipped names, or names in ``files``.

    ``files`` holds their texts. ``left_out`` is true if the job names a last visit that is not
    included.
    """

    sheet: Sheet
    files: dict[FileName, str] = Field(default_factory=dict)
    left_out: bool = False

    def unpacked(self, folder: Path) -> Sheet:
        """Writes the files into a folder; returns the sheet that names them there."""
        if self.files:
            folder.mkdir(parents=True, exist_ok=True)
        for name, text in self.files.items():
            (folder / name).write_text(text, encoding="utf-8", newline="")
        return with_whole_paths(self.sheet, folder, shipped_limits())


def carried_job(file: Path, today: date) -> CarriedJob:
    """Reads a job file with all that it names, as of ``today``, and loads it as the phone will.

    Raises the error of the first fault, and JobError if your own procedure needs more than one
    file.
    """
    sheet = load_sheet(file, shipped_limits(), visit_reader(today))
    files: dict[str, str] = {}
    renamed: dict[str, str] = {}
    for key in _NAMING:
        named = Path(getattr(sheet, key))
        if not named.is_absolute():
            continue
        name = named.name if named.name not in files else f"{key}-{named.name}"
        renamed[key] = name
        try:
            files[name] = file_bytes(named).decode("utf-8")
        except (OSError, UnicodeDecodeError) as error:
            raise JobError(f"{key} '{named}' cannot be read", file=file) from error
    carried = CarriedJob(sheet=sheet.model_copy(update=renamed), files=files)
    with tempfile.TemporaryDirectory() as beside:
        try:
            refuse_unknown(carried.unpacked(Path(beside)))
        except HandsfreeError as error:
            raise JobError(
                f"the phone could not use this job: {error.message}",
                file=file,
                way_out=error.way_out or "put everything into one file",
            ) from error
    return carried


def refuse_unknown(sheet: Sheet) -> None:
    """Loads everything that a sheet names. Raises the error of the first fault."""
    load_limits(sheet.limits)
    guide = load_guide(sheet.controller_guide, sheet.language) if sheet.controller_guide else None
    if sheet.procedure:
        load_procedure(sheet.procedure, guide, sheet.language)


def job_of(text: str) -> CarriedJob:
    """The job in a text: a job file (TOML), or a job for the phone (JSON).

    Raises JobError, also if a job file names other files, which are missing here.
    """
    if text.lstrip().startswith("{"):
        try:
            return CarriedJob.model_validate_json(text)
        except ValidationError as error:
            raise JobError(
                "this job for the phone is damaged, or of another version",
                way_out="make it again: handsfree phone job",
            ) from error
    sheet = parse_sheet(text, "job file")
    for key, shipped in (
        ("limits", shipped_limits()),
        ("procedure", ("", *shipped_procedures(sheet.language))),
        ("controller_guide", ("", *shipped_guides(sheet.language))),
    ):
        if (named := getattr(sheet, key)) not in shipped:
            raise JobError(
                f"{key.replace('_', ' ')} '{named}' is not on this phone",
                file="job file",
                way_out=_MAKE,
            )
    table = TomlSource(text, "job file", JobError).data.get("job")
    named_last = isinstance(table, dict) and bool(table.get("last_visit"))
    return CarriedJob(sheet=sheet, left_out=named_last)


def about(job: CarriedJob) -> dict[str, object]:
    """The names of a job and its choices, for the first page."""
    sheet = job.sheet
    return {
        "reference": sheet.reference,
        "site": sheet.site,
        "door": sheet.opening.name,
        "date": sheet.date,
        "language": sheet.language,
        "procedure": sheet.procedure,
        "guide": sheet.controller_guide,
        "last": sheet.last_visit.on if sheet.last_visit else "",
        "left_out": job.left_out,
    }


def about_text(text: str) -> str:
    """Reads the job in a text and returns what ``about`` says of it, as JSON.

    Returns ``{"error": ...}`` for a text that is not a job.
    """
    try:
        return json.dumps(about(job_of(text)))
    except HandsfreeError as error:
        return json.dumps({"error": str(error)})
