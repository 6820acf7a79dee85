"""A dossier as rows of the ledger's tables. Pure: nothing is read or written here."""

from __future__ import annotations

import hashlib
from typing import Any, NamedTuple

from handsfree.job.finding import ruling
from handsfree.ledger import tables as t
from handsfree.reports.dossier import Dossier
from handsfree.reports.dossier_parts import ReadingItem
from handsfree.reports.next_service import day_of, next_service
from handsfree.reports.reading_rows import findings_on

Row = dict[str, Any]
_LARGEST = 2**31 - 1


class VisitRows(NamedTuple):
    """The opening and the visit, and the rows of every part by the name of its table."""

    opening: Row
    visit: Row
    parts: dict[str, list[Row]]


def visit_rows(dossier: Dossier, visit_id: str, folder: str) -> VisitRows:
    """The rows of a visit whose journal is whole; ``visit_id`` is the hash of its first line."""
    assert dossier.head is not None
    summary, sheet = dossier.summary, dossier.sheet
    opening_id = opening_key(summary.site, summary.opening)
    due = next_service(dossier)
    kinds = [matter.kind for matter in dossier.matters]
    visit = {
        "id": visit_id,
        "opening_id": opening_id,
        "reference": clean(summary.reference),
        "technician": clean(summary.technician),
        "procedure": clean(dossier.procedure),
        "limits": clean(dossier.limits),
        "began": _time(dossier.began),
        "ended": _time(dossier.ended),
        "complete": dossier.complete,
        "verdict": clean(summary.verdict),
        "wrong": kinds.count("not in order"),
        "close": kinds.count("too close"),
        "failing": "not in order" in kinds or "too close" in kinds,
        "newest": False,
        "signed": dossier.signed,
        "due": due.isoformat() if due else None,
        "words": folded(
            "\n".join(
                (
                    *(summary.site, summary.opening, summary.reference, summary.technician),
                    *(sheet.note, *(note.now for note in dossier.notes)),
                )
            )
        ),
    }
    opening = {
        "id": opening_id,
        "site": clean(summary.site),
        "name": clean(summary.opening),
        "folded": folded(f"{summary.site}\n{summary.opening}"),
    }
    journal = {"head": dossier.head, "lines": dossier.verification.lines, "folder": clean(folder)}
    nths = {item.id: nth for nth, item in enumerate(dossier.readings, start=1)}
    parts: dict[str, list[Row]] = {
        t.journals.name: [journal],
        t.readings.name: [_reading(item) for item in dossier.readings],
        t.findings.name: _findings(dossier, nths),
        t.facts.name: [
            {"subject": fact.subject.value, "name": clean(fact.name), "value": clean(fact.value)}
            for fact in dossier.facts
        ],
        t.open_items.name: [
            {
                "key": clean(matter.key),
                "kind": matter.kind,
                "what": clean(matter.what),
                "word": matter.word,
                "decision": matter.decision.decision if matter.decision else None,
            }
            for matter in dossier.matters
        ],
        t.amendments.name: [
            {
                "at": _time(act.at),
                "by": clean(act.by),
                "kind": act.kind,
                "what": clean(act.what),
                "why": clean(act.why),
            }
            for act in dossier.office
            if act.kind not in ("signed_off", "reading_confirmed")
        ],
        t.sign_offs.name: [
            {
                "at": _time(signed.at),
                "by": clean(signed.by),
                "head": clean(signed.head),
                "valid": signed.valid,
            }
            for signed in dossier.sign_offs
        ],
    }
    for name, rows in parts.items():
        for nth, row in enumerate(rows, start=1):
            row["visit_id"] = visit_id
            if name != t.journals.name:
                row["nth"] = nth
    return VisitRows(opening, visit, parts)


def opening_key(site: str, name: str) -> str:
    """The one name of an opening: the same for every spelling of its site and name in case."""
    words = (" ".join(folded(part).split()) for part in (site, name))
    return hashlib.sha256("\0".join(words).encode()).hexdigest()[:24]


def clean(text: str) -> str:
    """A text that every database takes: no NUL, no half of a surrogate pair."""
    return text.replace("\0", "�").encode("utf-8", "replace").decode()


def folded(text: str) -> str:
    """A text as it is searched: without difference of case."""
    return clean(text).casefold()


def _time(at: str) -> str:
    """A time that sorts, or '' where a journal holds none."""
    return at if len(at) <= 24 and at.isascii() and day_of(at) else ""


def _reading(item: ReadingItem) -> Row:
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


def _findings(dossier: Dossier, nths: dict[str, int]) -> list[Row]:
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
        for found in findings_on(dossier.readings)
    ]


def _small(number: int) -> int:
    """A number that fits its column: a journal can hold any."""
    return max(-_LARGEST, min(number, _LARGEST))
