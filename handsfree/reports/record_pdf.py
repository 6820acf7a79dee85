"""The owner's record as PDF: the same bytes for the same journal, with bundled fonts."""

from __future__ import annotations

import io
from typing import Any

import segno

from handsfree.errors import JournalError
from handsfree.reports.record_data import record_data
from handsfree.reports.typeset import typeset_pdf, typeset_png
from handsfree.visit_record.visit_record import VisitRecord

_TEMPLATE = "record.typ"


def record_pdf(visit: VisitRecord) -> bytes:
    """The record as PDF. Raises JournalError if it cannot be typeset."""
    return typeset_pdf(_TEMPLATE, _data(visit), JournalError)


def record_png(visit: VisitRecord, dots_per_inch: float) -> bytes:
    """The first page of the record as a picture."""
    return typeset_png(_TEMPLATE, _data(visit), JournalError, dots_per_inch)


def _data(visit: VisitRecord) -> dict[str, Any]:
    data = record_data(visit)
    data["qr"] = _qr(data["head"]) if data["head"] else ""
    return data


def _qr(text: str) -> str:
    """A QR code as SVG, with error correction level M so that a smudge does not matter."""
    drawn = io.BytesIO()
    segno.make_qr(text, error="m").save(drawn, kind="svg", xmldecl=False, border=2)
    return drawn.getvalue().decode()
