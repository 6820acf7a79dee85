"""The owner's record as PDF: the same bytes for the same journal, with bundled fonts.

The page is set by typst, which brings its fonts along. Texts go in as data and never as markup.
"""

from __future__ import annotations

import io
import json
from functools import cache
from importlib.resources import files

import segno
import typst

from handsfree.errors import JournalError
from handsfree.reports.record_data import record_data
from handsfree.visit_record.visit_record import VisitRecord


def record_pdf(visit: VisitRecord) -> bytes:
    """The record as PDF. Raises JournalError if it cannot be typeset."""
    made = _set(visit, "pdf")
    assert isinstance(made, bytes)
    return made


def record_png(visit: VisitRecord, dots_per_inch: float) -> bytes:
    """The first page of the record as a picture."""
    made = _set(visit, "png", dots_per_inch)
    return made[0] if isinstance(made, list) else made


def _set(visit: VisitRecord, form: str, dots_per_inch: float = 144) -> bytes | list[bytes]:
    data = record_data(visit)
    data["qr"] = _qr(data["head"]) if data["head"] else ""
    try:
        made: bytes | list[bytes] = typst.compile(  # type: ignore[call-overload]
            _template(),
            format=form,
            ppi=dots_per_inch,
            ignore_system_fonts=True,
            sys_inputs={"data": json.dumps(data)},
        )
    except RuntimeError as error:
        first = (str(error).strip().splitlines() or [""])[0]
        raise JournalError(f"the record cannot be set: {first}") from error
    return made


@cache
def _template() -> bytes:
    return files("handsfree.reports").joinpath("templates/record.typ").read_bytes()


def _qr(text: str) -> str:
    """A QR code as SVG, with error correction level M so that a smudge does not matter."""
    drawn = io.BytesIO()
    segno.make_qr(text, error="m").save(drawn, kind="svg", xmldecl=False, border=2)
    return drawn.getvalue().decode()
