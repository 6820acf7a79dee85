"""Converts a visit to rows of the ledger's tables."""

from __future__ import annotations

import hashlib
from typing import Any, NamedTuple

from handsfree.job.finding import ruling
from handsfree.ledger import tables as t
from handsfree.reports.next_service import day_of, next_service
from handsfree.reports.reading_rows import findings_on
from handsfree.reports.summary import summary_of
from handsfree.visit_record.reading_story import ReadingStory
from handsfree.visit_record.visit_record import VisitRecord

TableRow = dict[str, Any]
_LARGEST = 2**31 - 1
_NO_AMENDMENTS = ("signed_off", "reading_confirmed", "sample_drawn", "readings_confirmed")


class VisitRows(NamedTuple):
    """Rows for the opening and the visit, and the rows of every part by the name of its table."""

    opening: TableRow
    visit: TableRow
    parts: dict[str, list[TableRow]]


def visit_rows(visit: VisitRecord, visit_id: str, folder: str) -> VisitRows:
    """The rows of a visit with an intact journal; ``visit_id`` is the hash of its first line."""
    assert visit.head is not None
    sheet, name = visit.sheet, visit.opening.name
    opening_id = opening_key(sheet.site, name, rehearsal=visit.rehearsal)
    due = None if visit.rehearsal else next_service(visit)  # a simulated door needs no service
    kinds = [matter.kind for matter in visit.open_items]
    visit_row = {
        "id": visit_id,
        "opening_id": opening_id,
        "reference": clean(sheet.reference),
        "technician": clean(sheet.technician),
        "procedure": clean(visit.opened.procedure),
        "limits": clean(visit.opened.limits),
        "began": _time(visit.began),
        "ended": _time(visit.ended),
        "complete": visit.complete,
        "rehearsal": visit.rehearsal,
        "verdict": clean(summary_of(visit).verdict),
        "wrong": kinds.count("not OK"),
        "close": kinds.count("too close"),
        "failing": "not OK" in kinds or "too close" in kinds,
        "newest": False,
        "signed": visit.signed,
        "due": due.isoformat() if due else None,
        "words": folded(
            "\n".join(
                (
                    *(sheet.site, name, sheet.reference, sheet.technician),
                    *(sheet.note, *(note.now for note in visit.notes)),
                )
            )
        ),
    }
    opening = {
        "id": opening_id,
        "site": clean(sheet.site),
        "name": clean(name),
        "folded": folded(f"{sheet.site}\n{name}"),
        "rehearsal": visit.rehearsal,
    }
    journal = {"head": visit.head, "lines": visit.verification.lines, "folder": clean(folder)}
    nths = {item.id: nth for nth, item in enumerate(visit.readings, start=1)}
    parts: dict[str, list[TableRow]] = {
        t.journals.name: [journal],
        t.readings.name: [_reading(item) for item in visit.readings],
        t.findings.name: _findings(visit, nths),
        t.facts.name: [
            {"subject": fact.subject.value, "name": clean(fact.name), "value": clean(fact.value)}
            for fact in visit.facts
        ],
        t.open_items.name: [
            {
                "key": clean(matter.key),
                "kind": matter.kind,
                "what": clean(matter.what),
                "word": matter.word,
                "decision": matter.decision.decision if matter.decision else None,
            }
            for matter in visit.open_items
        ],
        t.amendments.name: [
            {
                "at": _time(act.at),
                "by": clean(act.by),
                "kind": act.kind,
                "what": clean(act.what),
                "why": clean(act.why),
            }
            for act in visit.office
            if act.kind not in _NO_AMENDMENTS
        ],
        t.sign_offs.name: [
            {
                "at": _time(signed.at),
                "by": clean(signed.by),
                "head": clean(signed.head),
                "valid": signed.valid,
            }
            for signed in visit.sign_offs
        ],
    }
    for table, rows in parts.items():
        for nth, row in enumerate(rows, start=1):
            row["visit_id"] = visit_id
            if table != t.journals.name:
                row["nth"] = nth
    return VisitRows(opening, visit_row, parts)


def opening_key(site: str, name: str, *, rehearsal: bool = False) -> str:
    """The key of an opening: a hash of its site and name without regard to case.

    A simulated door never shares a key with a real one of the same name.
    """
    words = [" ".join(folded(part).split()) for part in (site, name)]
    words += ["rehearsal"] if rehearsal else []
    return hashlib.sha256("\0".join(words).encode()).hexdigest()[:24]


def clean(text: str) -> str:
    """Text that every database accepts: without NUL and lone surrogates."""
    return text.replace("\0", "�").encode("utf-8", "replace").decode()


def folded(text: str) -> str:
    """Text for searching without regard to case."""
    return clean(text).casefold()


def _time(at: str) -> str:
    """A time that sorts as text; '' if it is not a valid time."""
    return at if len(at) <= 24 and at.isascii() and day_of(at) else ""


def _reading(item: ReadingStory) -> TableRow:
    verdict = ruling(item.findings)
    return {
        "reading_id": clean(item.id),
        "subject": item.now.subject.value,
        "quantity": item.now.quantity.value,
        "value": str(item.now.value),
        "unit": item.now.unit.value,
        "base": item.now.measure.in_base_unit(),
        "taken": item.now.taken.value,
        "attempt": _small(item.now.attempt),
        "run": _small(item.now.run),
        "place": item.place,
        "gone": item.gone.how if item.gone else None,
        "accepted": str(item.accepted.measure),
        "verdict": verdict.value if verdict else None,
    }


def _findings(visit: VisitRecord, nths: dict[str, int]) -> list[TableRow]:
    return [
        {
            "reading": nths.get(found.reading_id or ""),
            "subject": found.subject.value,
            "quantity": found.quantity.value if found.quantity else None,
            "rule": clean(found.rule),
            "verdict": found.verdict.value,
            "binding": found.binding.value,
            "value": None if found.reading is None else str(found.reading),
            "bound": None if found.bound is None else clean(found.bound),
            "limit": None if found.limit is None else str(found.limit),
            "unit": clean(found.unit),
            "source": clean(found.source),
        }
        for found in findings_on(visit.readings)
    ]


def _small(number: int) -> int:
    """A number clipped to the range of its column."""
    return max(-_LARGEST, min(number, _LARGEST))
