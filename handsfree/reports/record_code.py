"""The QR code of record and label: text that a phone shows, without a network."""

from __future__ import annotations

import io

import segno

from handsfree.reports.next_service import next_service
from handsfree.reports.printed_words import PrintedWords
from handsfree.reports.visit_time import local_day
from handsfree.visit_record.visit_record import VisitRecord

_SITE, _DOOR = 40, 30
"""Most letters of each name: a short text makes large squares, which a phone reads from afar."""
SHORT_HASH = 12
"""Length of the beginning of a journal's hash."""


def code_text(visit: VisitRecord, words: PrintedWords) -> str:
    """The door, its last and next service, and the beginning of the journal's hash, a line each."""
    last, due = local_day(visit, visit.ended), next_service(visit)
    site, door = _cut(visit.sheet.site, _SITE), _cut(visit.opening.name, _DOOR)
    lines = [f"{door}, {site}"]
    lines += [words.text("code_last", day=last.isoformat())] if last else []
    lines += [words.text("code_next", day=due.isoformat())] if due else []
    lines += [words.text("code_record", head=visit.head[:SHORT_HASH])] if visit.head else []
    return "\n".join(lines)


def code_svg(visit: VisitRecord, words: PrintedWords) -> str:
    """The code as SVG, with error correction level M so that a smudge does not matter."""
    drawn = io.BytesIO()
    code = segno.make_qr(code_text(visit, words), error="m", encoding="utf-8")
    code.save(drawn, kind="svg", xmldecl=False, border=4)
    return drawn.getvalue().decode()


def _cut(name: str, most: int) -> str:
    shown = " ".join("".join(c if c.isprintable() else " " for c in name).split())
    return shown if len(shown) <= most else shown[: most - 1].rstrip() + "…"
