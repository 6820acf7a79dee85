"""Sizes, settings and choices that the last visit to an opening left for the next one."""

from __future__ import annotations

from pathlib import Path

from handsfree.errors import JobError
from handsfree.job.job import Job, LastVisit, Sheet
from handsfree.job.quantity import SETTINGS, Quantity
from handsfree.visit_record.load import load_record

STAYS = (
    Quantity.LEAF_WIDTH,
    Quantity.LEAF_HEIGHT,
    Quantity.LEAF_WEIGHT,
    Quantity.PLATE_HEIGHT,
    Quantity.PLATE_DISTANCE,
    Quantity.SIGN_HEIGHT,
    *SETTINGS,
)
"""Quantities that are the same from visit to visit unless somebody changes them."""
_OBSERVED = ("in_order", "not_in_order")


def with_last_visit(sheet: Sheet) -> Sheet:
    """The sheet with what the last visit left, where the job file names its folder.

    Raises JournalError when there is no journal in the folder, and JobError when it is of another
    opening.
    """
    if not sheet.last_visit_folder:
        return sheet
    folder = Path(sheet.last_visit_folder)
    record = load_record(folder)
    if _door(record.sheet) != _door(sheet):
        raise JobError(
            f"the last visit in {folder} was to '{record.sheet.opening.name}',"
            f" and this one is to '{sheet.opening.name}'",
            way_out="name the folder of a visit to the same opening, with the same leaves",
        )
    last = left_by(record.job, record.began[:10])
    return sheet.model_copy(update={"last_visit": last, "last_visit_folder": ""})


def left_by(job: Job, on: str) -> LastVisit:
    """The latest value of each quantity that stays, and the choices, of a visit that began ``on``
    that day (YYYY-MM-DD).
    """
    latest = {(r.quantity, r.subject): r for r in job.readings if r.quantity in STAYS}
    return LastVisit(
        reference=job.sheet.reference,
        on=on,
        readings=tuple(latest.values()),
        facts=tuple(fact for fact in job.facts if fact.value not in _OBSERVED),
    )


def _door(sheet: Sheet) -> tuple[str, tuple[str, ...]]:
    return sheet.opening.name.casefold(), tuple(leaf.name for leaf in sheet.opening.leaves)
