"""The owner's record as PDF: the same bytes for the same journal, with bundled fonts."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from handsfree.errors import JournalError
from handsfree.reports.letterhead import Letterhead
from handsfree.reports.record_data import record_data
from handsfree.reports.typeset import STANDARDS, typeset_pdf, typeset_png
from handsfree.visit_record.visit_record import VisitRecord

_TEMPLATE = "record.typ"


def record_pdf(
    visit: VisitRecord, letterhead: Letterhead | None = None, languages: Sequence[str] = ()
) -> bytes:
    """The record as PDF/A and PDF/UA. Raises JournalError if it cannot be typeset.

    ``languages`` holds one or two languages, printed side by side; by default the visit's own.
    """
    paper = letterhead or Letterhead()
    return typeset_pdf(
        *(_TEMPLATE, _data(visit, paper, languages), JournalError),
        standards=STANDARDS,
        picture=paper.logo,
    )


def record_png(
    visit: VisitRecord,
    dots_per_inch: float,
    letterhead: Letterhead | None = None,
    languages: Sequence[str] = (),
    page: int = 1,
) -> bytes:
    """A page of the record, from 1, as a picture."""
    paper = letterhead or Letterhead()
    data = _data(visit, paper, languages)
    return typeset_png(_TEMPLATE, data, JournalError, dots_per_inch, page=page, picture=paper.logo)


def _data(visit: VisitRecord, paper: Letterhead, languages: Sequence[str]) -> dict[str, Any]:
    chosen = tuple(languages) or (visit.sheet.language,)
    return {"columns": [record_data(visit, language, paper) for language in chosen]}
