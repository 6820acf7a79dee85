"""The label for the door: its last and next service, and the record's code."""

from __future__ import annotations

from typing import Any

from handsfree.errors import JournalError
from handsfree.reports.letterhead import Letterhead
from handsfree.reports.next_service import next_service
from handsfree.reports.printed_text import printed_text
from handsfree.reports.printed_words import printed_words
from handsfree.reports.record_code import SHORT_HASH, code_svg
from handsfree.reports.record_verdict import KIND, verdict_of_record, verdict_words
from handsfree.reports.typeset import STANDARDS, typeset_pdf, typeset_png
from handsfree.reports.visit_time import local_day
from handsfree.visit_record.visit_record import VisitRecord

_TEMPLATE = "label.typ"


def label_data(
    visit: VisitRecord, letterhead: Letterhead | None = None, language: str | None = None
) -> dict[str, Any]:
    """The label's texts; ``language`` is the visit's own by default."""
    words = printed_words(language or visit.sheet.language)
    paper = letterhead or Letterhead()
    last, due = local_day(visit, visit.ended), next_service(visit)
    verdict = verdict_of_record(visit)
    call = words.text("label_call_nobody")
    if paper.company:
        who = ", ".join(filter(None, (paper.company, paper.address)))
        call = f"{words.text('label_call')} {who}."
    return {
        "language": words.language,
        "words": {key: text for key, text in words.texts.items() if isinstance(text, str)},
        "company": printed_text(paper.company, 80),
        "logo": bool(paper.logo),
        "opening": printed_text(visit.opening.name, 50),
        "site": printed_text(visit.sheet.site, 60),
        "technician": printed_text(visit.sheet.technician, 40),
        "date": [last.year, last.month, last.day] if last else None,
        "day": words.day(last) if last else "",
        "due": words.day(due) if due else words.text("label_no_day"),
        "kind": KIND[verdict],
        "verdict": printed_text(verdict_words(visit, verdict, words), 90),
        "call": printed_text(call, 300),
        "head": (visit.head or "")[:SHORT_HASH],
        "qr": code_svg(visit, words) if visit.head else "",
    }


def label_pdf(
    visit: VisitRecord, letterhead: Letterhead | None = None, language: str | None = None
) -> bytes:
    """The label as PDF/A and PDF/UA, 100 by 50 mm. Raises JournalError if it cannot be typeset."""
    data = label_data(visit, letterhead, language)
    logo = letterhead.logo if letterhead is not None else b""
    return typeset_pdf(_TEMPLATE, data, JournalError, standards=STANDARDS, picture=logo)


def label_png(
    visit: VisitRecord, dots_per_inch: float, letterhead: Letterhead | None = None
) -> bytes:
    """The label as a picture."""
    logo = letterhead.logo if letterhead is not None else b""
    data = label_data(visit, letterhead)
    return typeset_png(_TEMPLATE, data, JournalError, dots_per_inch, picture=logo)
