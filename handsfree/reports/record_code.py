"""The QR code on record and label: a text that a phone shows without a network."""

from __future__ import annotations

import io

import segno

from handsfree.reports.next_service import next_service
from handsfree.reports.printed_words import PrintedWords
from handsfree.reports.visit_time import local_day
from handsfree.visit_record.visit_record import VisitRecord

_SITE, _DOOR = 40, 30
"""Longest names (characters): a short text makes large squares, which are easy to scan."""
SHORT_HASH = 12
"""Number of characters shown of a journal's hash."""


def code_text(visit: VisitRecord, words: PrintedWords) -> str:
    """The text of the code: the door, its last and next service, and the start of the journal's
    hash.
    """
    last, due = local_day(visit, visit.ended), next_service(visit)
    site, door = _cut(visit.sheet.site, _SITE), _cut(visit.opening.name, _DOOR)
    lines = [f"{door}, {site}"]
    lines += [words.text("code_last", day=last.isoformat())] if last else []
    lines += [words.text("code_next", day=due.isoformat())] if due else []
    lines += [words.text("code_record", head=visit.head[:SHORT_HASH])] if visit.head else []
    return "\n".join(lines)


def code_svg(visit: VisitRecord, words: PrintedWords) -> str:
    """The code as SVG, with error correction level M against smudges."""
    drawn = io.BytesIO()
    code = segno.make_qr(code_text(visit, words), error="m", encoding="utf-8")
    code.save(drawn, kind="svg", xmldecl=False, border=4)
    return drawn.getvalue().decode()


def _cut(name: str, most: int) -> str:
    shown = " ".join("".join(c if c.isprintable() else " " for c in name).split())
    return shown if len(shown) <= most else shown[: most - 1].rstrip() + "…"
