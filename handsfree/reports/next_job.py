"""Makes the next job at a door from its last visit, so that known facts are not asked again."""

from __future__ import annotations

from handsfree.job.job import Sheet
from handsfree.reports.next_service import DAILY, next_service
from handsfree.visit_record.visit_record import VisitRecord


def next_job(visit: VisitRecord) -> Sheet:
    """The sheet of the next visit: the opening as known now, on the day of the next service.

    The procedure and the number of the work order are left open. The person of a daily walk is not
    entered as the technician.
    """
    day = next_service(visit)
    opening = visit.opening.model_copy(update={"controller_removed": False})
    technician = "" if visit.opened.procedure == DAILY else visit.sheet.technician
    return visit.sheet.model_copy(
        update={
            "reference": opening.name,
            "opening": opening,
            "technician": technician,
            "note": "",
            "procedure": "",
            "date": "" if day is None else day.isoformat(),
            "controller_guide": visit.opened.controller or visit.sheet.controller_guide,
        }
    )


def walk_of(sheet: Sheet) -> Sheet:
    """The sheet for a daily walk: a technician's job without the entries about the work."""
    update = {"reference": sheet.opening.name, "note": "", "date": "", "procedure": ""}
    return sheet.model_copy(update=update | {"controller_guide": ""})
