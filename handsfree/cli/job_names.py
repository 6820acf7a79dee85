"""Names of files and folders that are made from the names of jobs."""

from __future__ import annotations

import re
from pathlib import Path

JOBS = Path("jobs")
"""The folder of the job files that a list was made into."""
JOB_SUFFIX = ".job.toml"
"""Ending of a job file's name."""


def slug(text: str, default: str) -> str:
    """The text in small letters, digits and hyphens, at most 80 characters."""
    return re.sub(r"[^a-z0-9]+", "-", text.lower())[:80].strip("-") or default
