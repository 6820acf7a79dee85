"""Writes a command's output file, and reports a broken journal."""

from __future__ import annotations

import logging
from pathlib import Path

from handsfree.cli.terminal import echo
from handsfree.errors import JournalError
from handsfree.exit_codes import ExitCode
from handsfree.journal.durable_files import OWN_FILE, replace_file
from handsfree.reports.summary import Summary
from handsfree.reports.summary_text import summary_text
from handsfree.visit_record.visit_record import VisitRecord

SUMMARY = "summary.txt"
_LOG = logging.getLogger(__name__)


def keep_summary(folder: Path, summary: Summary) -> None:
    """Puts the summary into the visit's folder. Raises OSError."""
    replace_file(folder / SUMMARY, summary_text(summary).encode(), OWN_FILE)


def write_out(out: Path, content: bytes, what: str) -> None:
    """Writes a file completely or not at all. Raises JournalError that names ``what``."""
    try:
        replace_file(out, content)
    except OSError as error:
        raise JournalError(
            f"{what} could not be written: {(error.strerror or str(error)).lower()}",
            file=out,
            way_out="name another place with --out",
        ) from error
    _LOG.info("wrote %s, %d bytes", out, len(content))


def end_broken(visit: VisitRecord) -> None:
    """Says where a journal is broken and exits with 1; does nothing for an intact one."""
    broken = visit.verification.broken
    if broken is not None:
        echo(f"The journal {broken.told}.", err=True)
        raise SystemExit(ExitCode.FOUND)
