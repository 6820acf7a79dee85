"""Writes the next service of a door as an iCalendar file (RFC 5545)."""

from __future__ import annotations

import hashlib
from datetime import UTC, datetime, timedelta

from icalendar import Alarm, Calendar, Event

from handsfree import __version__
from handsfree.errors import JournalError
from handsfree.reports.next_service import next_service
from handsfree.reports.printed_words import printed_words
from handsfree.reports.record_code import SHORT_HASH
from handsfree.reports.visit_time import local_day
from handsfree.visit_record.visit_record import VisitRecord

_REMINDER = timedelta(days=14)
"""Time of the calendar's reminder before the day of the service."""


def calendar_file(visit: VisitRecord) -> bytes:
    """The day of the next service as one event. The same visit gives the same bytes.

    Raises JournalError if no day is set: for an unfinished visit, a visit that is not a service, or
    a broken journal.
    """
    due, last = next_service(visit), local_day(visit, visit.ended)
    if due is None or last is None or visit.head is None:
        raise JournalError(
            "this visit sets no next service: it is not finished, its journal is broken, or it is "
            "no service",
            way_out="finish a visit that was broken off: handsfree resume FOLDER",
        )
    words = printed_words(visit.sheet.language)
    opening, site = _plain(visit.opening.name), _plain(visit.sheet.site)
    about = words.text(
        "calendar_about",
        day=words.day(last),
        technician=_plain(visit.sheet.technician),
        reference=_plain(visit.sheet.reference),
        head=visit.head[:SHORT_HASH],
    )
    summary = words.text("calendar_service", opening=opening, site=site)
    of_visit = "\n".join((site, opening, visit.sheet.reference, visit.began))
    event = Event()
    event.add("uid", f"{hashlib.sha256(of_visit.encode('utf-8', 'replace')).hexdigest()}@handsfree")
    event.add("dtstamp", datetime.fromisoformat(visit.ended).astimezone(UTC).replace(microsecond=0))
    event.add("dtstart", due)
    event.add("dtend", due + timedelta(days=1))
    event.add("summary", summary)
    event.add("location", site)
    event.add("description", f"{about} {words.text('label_call_nobody')}")
    event.add("transp", "TRANSPARENT")
    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("trigger", -_REMINDER)
    alarm.add("description", summary)
    event.add_component(alarm)
    made = Calendar()
    made.add("prodid", f"-//handsfree//{__version__}//EN")
    made.add("version", "2.0")
    made.add_component(event)
    content: bytes = made.to_ical()
    return content


def _plain(text: str) -> str:
    """A text on one line, without control characters."""
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())
