"""Reads a CSV or XLSX list as rows of texts, whatever program wrote it."""

from __future__ import annotations

import csv
import io
import warnings
from collections.abc import Iterable, Iterator
from datetime import date, datetime
from itertools import islice
from pathlib import Path
from typing import Any
from zipfile import BadZipFile, ZipFile

from handsfree.errors import JobError
from handsfree.toml_source import file_bytes

MOST_ROWS, MOST_COLUMNS = 20_000, 200
"""Largest list that is read (rows, columns)."""
_MOST_BYTES, _MOST_UNPACKED = 20_000_000, 200_000_000
_ZIP, _OLD_WORKBOOK = b"PK", b"\xd0\xcf\x11\xe0"
_SEPARATORS = ",;\t"
_SAVE = "save it as XLSX, or as CSV in UTF-8"

Rows = list[tuple[str, ...]]


def read_rows(file: Path) -> Rows:
    """Reads all rows of a list, of a workbook those of its first sheet; blank rows are empty.

    Numbers, days and booleans become texts: '36.5', '2026-12-01', 'yes'. A formula becomes its
    stored value, or '=' without one. Raises JobError for a file that is not a list, or is too long.
    """
    try:
        content = file_bytes(file, _MOST_BYTES)
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise JobError(
            f"the list cannot be read: {reason}", file=file, way_out="name a CSV or XLSX file"
        ) from error
    if content.startswith(_OLD_WORKBOOK):
        raise JobError("an old or a locked workbook", file=file, way_out=_SAVE)
    rows = _of_workbook(content, file) if content.startswith(_ZIP) else _of_text(content, file)
    found = list(islice(rows, MOST_ROWS + 1))
    if len(found) > MOST_ROWS:
        raise JobError(
            f"it has more than {MOST_ROWS:,} rows", file=file, way_out="split it into several lists"
        )
    return found


def _of_text(content: bytes, file: Path) -> Iterator[tuple[str, ...]]:
    """The rows of a CSV file; its separator is the commonest one in its first line."""
    try:
        wide = content.startswith((b"\xff\xfe", b"\xfe\xff"))
        text = content.decode("utf-16" if wide else "utf-8-sig")
    except UnicodeDecodeError as error:
        raise JobError("its text is not UTF-8", file=file, way_out=_SAVE) from error
    first = text.partition("\n")[0].strip()
    if first.startswith("sep=") and len(first) == len("sep=,"):
        separator = first[-1]
    else:
        separator = max(_SEPARATORS, key=first.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator)
    try:
        for row in reader:
            yield tuple(each.strip() for each in row[:MOST_COLUMNS])
    except csv.Error as error:
        raise JobError(str(error), file=file, line=reader.line_num, way_out=_SAVE) from error


def _of_workbook(content: bytes, file: Path) -> Iterator[tuple[str, ...]]:
    # Slow to import, and only workbooks need it.
    from openpyxl import load_workbook
    from openpyxl.utils.exceptions import InvalidFileException

    wrong = (
        BadZipFile,
        InvalidFileException,
        KeyError,
        ValueError,
        TypeError,
        SyntaxError,
        OSError,
    )
    try:
        with ZipFile(io.BytesIO(content)) as parts:
            unpacked = sum(part.file_size for part in parts.infolist())
        if unpacked > _MOST_UNPACKED:
            raise JobError("the workbook is too large", file=file, way_out=_SAVE)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # parts of a workbook that are not read
            cells, values = (
                _cells(load_workbook(io.BytesIO(content), read_only=True, data_only=stored))
                for stored in (False, True)
            )
            for row, stored in zip(cells, values, strict=True):
                yield tuple(map(_shown, row, stored))
    except wrong as error:  # its XML parser raises SyntaxError
        raise JobError("the workbook cannot be read", file=file, way_out=_SAVE) from error


def _cells(book: Any) -> Iterable[tuple[Any, ...]]:
    """The cells of the first sheet, up to the limits; the size stated in the file is ignored."""
    sheet = book.worksheets[0]
    sheet.reset_dimensions()
    return (row[:MOST_COLUMNS] for row in sheet.iter_rows(values_only=True))


def _shown(written: Any, stored: Any) -> str:
    """A cell as text; ``written`` is its formula, if it has one, ``stored`` its value."""
    if stored is None:
        return "" if written is None else "="
    match stored:
        case bool():
            return "yes" if stored else "no"
        case float() if stored.is_integer():
            return str(int(stored))
        case datetime() | date():
            return stored.isoformat()[:10]
        case _:
            return str(stored).strip()
