"""The time line of a visit: what was heard, said and happened, step by step."""

from __future__ import annotations

from datetime import datetime
from typing import NamedTuple

from handsfree.visit_record.cycles import TimedRun
from handsfree.visit_record.talk_items import Occurrence, RecordedFault, Spoken, Utterance
from handsfree.visit_record.visit_record import VisitRecord


class Entry(NamedTuple):
    """One line of the time line: exactly one of its records is set. ``clock`` is UTC."""

    seq: int
    at: str
    clock: str
    heard: Utterance | None = None
    said: Spoken | None = None
    run: TimedRun | None = None
    fault: RecordedFault | None = None
    moment: Occurrence | None = None


class Stretch(NamedTuple):
    """The entries at one step; ``step`` is '' before the first."""

    step: str
    clock: str
    entries: tuple[Entry, ...]


def time_line(visit: VisitRecord) -> tuple[Stretch, ...]:
    """Every entry in order, with one stretch for each time a step was entered."""
    lines = [
        *(Entry(each.seq, each.at, clock(each.at), heard=each) for each in visit.utterances),
        *(Entry(each.seq, each.at, clock(each.at), said=each) for each in visit.said),
        *(Entry(each.seq, each.at, clock(each.at), run=each) for each in visit.runs),
        *(Entry(each.seq, each.at, clock(each.at), fault=each) for each in visit.faults),
        *(Entry(each.seq, each.at, clock(each.at), moment=each) for each in visit.occurrences),
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


def clock(at: str) -> str:
    """'09:15:02' of a journal's time; the text itself if it is not a valid time."""
    try:
        return datetime.fromisoformat(at).strftime("%H:%M:%S")
    except ValueError:
        return at


def day(at: str) -> str:
    """'4 March 2026, 09:15 UTC' of a journal's time; the text itself if it is not valid."""
    try:
        when = datetime.fromisoformat(at)
    except ValueError:
        return at
    return f"{when.day} {when:%B %Y, %H:%M} UTC"


def lasted(began: str, ended: str) -> str:
    """'1 h 04 min' from one journal's time to another; '' if they are not valid times."""
    try:
        seconds = (datetime.fromisoformat(ended) - datetime.fromisoformat(began)).total_seconds()
    except (ValueError, TypeError):
        return ""
    minutes = max(0, round(seconds / 60))
    return f"{minutes // 60} h {minutes % 60:02} min" if minutes >= 60 else f"{minutes} min"
