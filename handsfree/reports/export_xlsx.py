"""Exports the readings of a visit as an XLSX workbook with typed cells."""

from __future__ import annotations

import io
from decimal import Decimal

from openpyxl import Workbook
from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE, Cell
from openpyxl.styles import Alignment, Font
from openpyxl.utils import get_column_letter

from handsfree.reports.export import COLUMNS, reading_rows
from handsfree.visit_record.visit_record import VisitRecord

_LONGEST = 32_767
"""Longest text of a cell (characters)."""
_WIDEST = 48


def export_xlsx(visit: VisitRecord) -> bytes:
    """The rows of ``export_csv`` as a workbook of one sheet, 'readings'.

    No cell is ever a formula: a spreadsheet shows every text unchanged. Control characters are left
    out.
    """
    book = Workbook()
    sheet = book.active
    sheet.title = "readings"
    head: dict[str, object] = {name: name for name in COLUMNS}
    rows = [head, *reading_rows(visit)]
    widths = [len(name) for name in COLUMNS]
    for at, row in enumerate(rows, start=1):
        for nth, name in enumerate(COLUMNS):
            cell = sheet.cell(row=at, column=nth + 1)
            _fill(cell, row[name])
            widths[nth] = min(_WIDEST, max(widths[nth], len(str(cell.value or ""))))
            if at == 1:
                cell.font = Font(bold=True)
    for nth, width in enumerate(widths, start=1):
        sheet.column_dimensions[get_column_letter(nth)].width = width + 2
    sheet.freeze_panes = "A2"
    sheet.auto_filter.ref = sheet.dimensions
    content = io.BytesIO()
    book.save(content)
    return content.getvalue()


def _fill(cell: Cell, value: object) -> None:
    if value is None or value == "":
        return
    if isinstance(value, Decimal) and value.is_finite():
        cell.value = float(value)
        exponent = value.as_tuple().exponent
        places = -exponent if isinstance(exponent, int) and exponent < 0 else 0
        cell.number_format = "0." + "0" * places if places else "0"
    elif isinstance(value, int):
        cell.value = value
    else:
        cell.value = ILLEGAL_CHARACTERS_RE.sub("\ufffd", str(value))[:_LONGEST]
        cell.data_type = "s"  # otherwise a text that begins with '=' becomes a formula
        cell.alignment = Alignment(vertical="top")
        cell.quotePrefix = True
