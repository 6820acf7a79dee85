"""Computes when the next service of an opening is due."""

from __future__ import annotations

import calendar
from datetime import date, datetime

from handsfree.job.quantity import Quantity
from handsfree.reports.visit_time import local_day
from handsfree.visit_record.visit_record import VisitRecord

DAILY = "daily-check"
"""The procedure of the owner's daily walk, which is not a service."""
MONTHS = 12
"""Default interval: one year, as A156.19 annex A-6 (2013) recommends (seen)."""


def next_service(visit: VisitRecord) -> date | None:
    """The day of the next service: the agreed number of months after the visit, otherwise a year.

    None for an unfinished visit and for a daily walk, because the service before it still counts.
    Also None if the journal's time is invalid, or the day is beyond the calendar.
    """
    ended = local_day(visit, visit.ended)
    if not visit.complete or visit.opened.procedure == DAILY or ended is None:
        return None
    agreed = [i.now for i in visit.standing if i.now.quantity is Quantity.NEXT_SERVICE]
    months = agreed[-1].value if agreed else MONTHS
    if not 0 < months <= 12 * 100:
        return None
    return _months_later(ended, int(months))


def day_of(at: str) -> date | None:
    """The day, in UTC, of an event's time; None if it is not a valid time."""
    try:
        return datetime.fromisoformat(at).date()
    except ValueError:
        return None


def _months_later(day: date, months: int) -> date | None:
    """The same day of a later month, or the last day of a shorter month."""
    years, month = divmod(day.month - 1 + months, 12)
    year = day.year + years
    if year > date.max.year:
        return None
    last = calendar.monthrange(year, month + 1)[1]
    return date(year, month + 1, min(day.day, last))
