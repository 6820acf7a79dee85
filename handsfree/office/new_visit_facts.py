"""The possible corrections of visit facts."""

from __future__ import annotations

import re
from datetime import UTC, datetime

from handsfree.errors import OfficeError
from handsfree.job.visit_fact import VISIT_FACTS, VisitFact, as_code
from handsfree.journal.canonical_json import stamp
from handsfree.language.wording import ENGLISH
from handsfree.office.changes import AmendVisitFact
from handsfree.reports.visit_time import local, zone_of
from handsfree.visit_record.visit_record import VisitRecord

_HOUR = re.compile(r"([01]?\d|2[0-3])[:.]([0-5]\d)")
_HINTS = {
    "code": "letters and digits",
    "words": "at most 1000 characters",
    "date": "a month, 2026-03, or a day, 2026-03-14",
    "moment": "local time at the door, such as 09:15",
}


def hint_of(fact: VisitFact) -> str:
    """Describes a value of the fact: 'letters and digits'."""
    if fact.takes == "choice":
        return " or ".join(each.name for each in fact.words[ENGLISH].values.values())
    return _HINTS[fact.takes]


def new_visit_fact(change: AmendVisitFact, visit: VisitRecord, old: str) -> str:
    """The typed value as stored in a journal; for a moment a time (UTC) on the day of ``old``.

    Raises OfficeError for an impossible value, or for a leaf that the fact does not have.
    """
    fact, typed = VISIT_FACTS[change.name], change.new
    moment = fact.takes == "moment"
    new = _moment(typed, visit, old) if moment else _as_kept(fact, typed)
    try:
        fact.refuse(change.subject, "" if moment else new or "")
        if new:
            return new
    except ValueError as error:
        raise _refused(fact, typed) from error
    raise _refused(fact, typed)


def _refused(fact: VisitFact, typed: str) -> OfficeError:
    return OfficeError(f"'{typed[:60]}' is not a possible value", way_out=f"write {hint_of(fact)}")


def _as_kept(fact: VisitFact, typed: str) -> str | None:
    if fact.takes == "choice":
        named = fact.words[ENGLISH].values
        return next((value for value in named if typed.lower() in (value, named[value].name)), None)
    return as_code(typed) if fact.takes == "code" else typed


def _moment(typed: str, visit: VisitRecord, old: str) -> str | None:
    """A local time of the visit, on the day of ``old`` or else of the visit, as a time in UTC."""
    found, day = _HOUR.fullmatch(typed), local(visit, old or visit.began)
    if found is None or day is None:
        return None
    hour, minute = int(found[1]), int(found[2])
    at = datetime(day.year, day.month, day.day, hour, minute, tzinfo=zone_of(visit))
    return stamp(at.astimezone(UTC))
