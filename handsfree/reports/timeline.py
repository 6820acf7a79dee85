"""The time line of a visit: what was heard, said and happened, in the zone of the visit."""

from __future__ import annotations

from datetime import UTC, datetime, tzinfo
from typing import NamedTuple

from handsfree.reports.visit_time import zone_of
from handsfree.visit_record.cycles import TimedRun
from handsfree.visit_record.talk_items import Occurrence, RecordedFault, Spoken, Utterance
from handsfree.visit_record.visit_record import VisitRecord


class Entry(NamedTuple):
    """One line of the time line; exactly one of its records is set."""

    seq: int
    at: str
    clock: str
    heard: Utterance | None = None
    said: Spoken | None = None
    run: TimedRun | None = None
    fault: RecordedFault | None = None
    moment: Occurrence | None = None


class Stretch(NamedTuple):
    """The entries at one step; ``step`` is '' before the first step."""

    step: str
    clock: str
    entries: tuple[Entry, ...]


def time_line(visit: VisitRecord) -> tuple[Stretch, ...]:
    """All entries in order, with one stretch for each time that a step was entered."""
    zone = zone_of(visit)
    lines = [
        *(Entry(each.seq, each.at, clock(each.at, zone), heard=each) for each in visit.utterances),
        *(Entry(each.seq, each.at, clock(each.at, zone), said=each) for each in visit.said),
        *(Entry(each.seq, each.at, clock(each.at, zone), run=each) for each in visit.runs),
        *(Entry(each.seq, each.at, clock(each.at, zone), fault=each) for each in visit.faults),
        *(
            Entry(each.seq, each.at, clock(each.at, zone), moment=each)
            for each in visit.occurrences
        ),
    ]
    lines.sort(key=lambda entry: entry.seq)
    stretches: list[tuple[str, str, list[Entry]]] = []
    for entry in lines:
        entered = entry.moment is not None and entry.moment.kind == "step_entered"
        if entered or not stretches:
            step = entry.moment.what if entered and entry.moment is not None else ""
            stretches.append((step, entry.clock, []))
        if not entered:
            stretches[-1][2].append(entry)
    return tuple(Stretch(step, at, tuple(entries)) for step, at, entries in stretches if entries)


def clock(at: str, zone: tzinfo = UTC) -> str:
    """'09:15:02' of a journal's time in a zone; the text itself if it is not a valid time."""
    when = _in(at, zone)
    return at if when is None else when.strftime("%H:%M:%S")


def day(at: str, zone: tzinfo = UTC) -> str:
    """'March 4, 2026, 09:15 EST' of a journal's time; the text itself if it is not valid."""
    when = _in(at, zone)
    return at if when is None else f"{when:%B} {when.day}, {when:%Y, %H:%M} {when.tzname()}"


def _in(at: str, zone: tzinfo) -> datetime | None:
    try:
        return datetime.fromisoformat(at).astimezone(zone)
    except (ValueError, OverflowError):
        return None


def lasted(began: str, ended: str) -> str:
    """'1 h 04 min' between two times of a journal; '' if one is not valid."""
    try:
        seconds = (datetime.fromisoformat(ended) - datetime.fromisoformat(began)).total_seconds()
    except (ValueError, TypeError):
        return ""
    minutes = max(0, round(seconds / 60))
    return f"{minutes // 60} h {minutes % 60:02} min" if minutes >= 60 else f"{minutes} min"
