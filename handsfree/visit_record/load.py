"""Loads the record of a visit from its folder."""

from __future__ import annotations

from pathlib import Path

from handsfree.errors import JournalError
from handsfree.journal.reader import JOURNAL, scan_folder, verified
from handsfree.visit_record.visit_record import VisitRecord, record_of


def load_record(folder: Path) -> VisitRecord:
    """Loads the record of a visit's folder; for a broken journal, the part before the break.

    Raises JournalError if there is no journal, or nothing in it can be read.
    """
    found = scan_folder(folder)
    verification = verified(folder, found)
    try:
        return record_of(found.events, verification)
    except JournalError as error:
        broken = verification.broken
        if broken is None:
            raise
        raise JournalError(
            f"{broken.reason}: {broken.meaning}",
            file=folder / JOURNAL,
            line=broken.line,
            way_out="nothing before it can be shown; use an earlier copy",
        ) from error
