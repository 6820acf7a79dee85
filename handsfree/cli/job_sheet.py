"""Reads the job file that a command is given."""

from __future__ import annotations

from pathlib import Path

from handsfree.checks.limits import shipped_limits
from handsfree.errors import JobError
from handsfree.job.job import Sheet
from handsfree.job_file.loader import parse_sheet
from handsfree.toml_source import file_bytes


def read_sheet(file: Path) -> Sheet:
    """The sheet of a job file. Raises JobError with the line at the first fault.

    A limits file that it names lies where the job file says, seen from the job file.
    """
    try:
        text = file_bytes(file).decode("utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise JobError(
            "the job file cannot be read", file=file, way_out="give a TOML file with --job"
        ) from error
    sheet = parse_sheet(text, file)
    if sheet.limits in shipped_limits():
        return sheet
    return sheet.model_copy(update={"limits": str((file.parent / sheet.limits).resolve())})
