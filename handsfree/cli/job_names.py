"""Derives file and folder names from the names of jobs."""

from __future__ import annotations

import re
from pathlib import Path

JOBS = Path("jobs")
"""Folder for the job files made from a list of doors."""
JOB_SUFFIX = ".job.toml"
"""Ending of a job file's name."""


def slug(text: str, default: str) -> str:
    """The text in lower-case letters, digits and hyphens, at most 80 characters."""
    return re.sub(r"[^a-z0-9]+", "-", text.lower())[:80].strip("-") or default
