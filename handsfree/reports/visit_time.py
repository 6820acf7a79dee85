"""Local times of a visit, with their time zone."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, timedelta, timezone

from handsfree.visit_record.visit_record import VisitRecord

_ZONE = re.compile(r"([+-])(\d\d):(\d\d)(?: (.+))?")


def zone_of(visit: VisitRecord) -> timezone:
    """The time zone in which the visit began; UTC if the journal does not say."""
    found = _ZONE.fullmatch(visit.opened.zone)
    if found is None or not (int(found[2]) < 24 and int(found[3]) < 60):
        return UTC
    sign = -1 if found[1] == "-" else 1
    offset = sign * timedelta(hours=int(found[2]), minutes=int(found[3]))
    return timezone(offset, found[4] or f"UTC{found[1]}{found[2]}:{found[3]}")


def local(visit: VisitRecord, at: str) -> datetime | None:
    """A journal's time in the zone of the visit; None if it is not a valid time."""
    try:
        return datetime.fromisoformat(at).astimezone(zone_of(visit))
    except (ValueError, OverflowError):
        return None


def local_day(visit: VisitRecord, at: str) -> date | None:
    """The local day of a journal's time; None if it is not a valid time."""
    when = local(visit, at)
    return None if when is None else when.date()
