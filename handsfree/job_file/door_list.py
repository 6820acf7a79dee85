"""Reads a list of doors: each row becomes the sheet of a job, or is reported as faulty."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any, NamedTuple

from handsfree.errors import HandsfreeError, JobError
from handsfree.job.door_feature import FEATURES
from handsfree.job.job import Sheet
from handsfree.job.opening import Side, Swing
from handsfree.job_file.features import OPENING_FEATURES
from handsfree.job_file.leaves import LEAF_KEYS
from handsfree.job_file.loader import sheet_of
from handsfree.toml_source import nearest

JOB_COLUMNS = (
    *("reference", "site", "technician", "date", "procedure", "controller_guide", "language"),
    *("units", "limits", "note"),
)
OPENING_COLUMNS = ("name", "operator", "switch_range", "controller_removed", *OPENING_FEATURES)
LEAF_COLUMNS = tuple(key for key in LEAF_KEYS if key not in ("name", "part", "construction"))
OTHER_NAMES = {
    **{"door": "name", "opening": "name", "door_name": "name", "building": "site"},
    **{"work_order": "reference", "guide": "controller_guide"},
}
"""Alternative headings, and the columns that they stand for."""
_LONGEST = 200
_FLAGS = (
    *("controller_removed",),
    *(name for name, feature in FEATURES.items() if feature.yes_or_no),
)
_YES, _NO = ("yes", "y", "true", "x", "1", "sí", "si"), ("no", "n", "false", "0")
_WORDS = (*("operator", "units", "language", "weight_source", "hinge_side", "action"), *FEATURES)
_FREE = ("seen_from",)
_ERRORS = ("#DIV/0!", "#N/A", "#NAME?", "#NULL!", "#NUM!", "#REF!", "#VALUE!")
_EXAMPLE = re.compile(r'for example \w+ = "([^"]*)"')


class _Column(NamedTuple):
    """A column: its position, its heading as written, and the table and key that it fills.

    ``side`` is the leaf that it describes, None for every leaf.
    """

    at: int
    heading: str
    table: str
    key: str
    side: Side | None = None


class ListedDoor(NamedTuple):
    """A door of a list: its row (from 1), the faults of its cells, and its sheet without these.

    The sheet is None where nothing can be made of the row.
    """

    row: int
    faults: tuple[HandsfreeError, ...]
    sheet: Sheet | None


class DoorList(NamedTuple):
    """The doors of a list, and its columns."""

    doors: tuple[ListedDoor, ...]
    headings: Headings


class Headings:
    """The columns of a list, from its first row.

    Raises JobError for a list without a column 'name', or with two columns of the same meaning.
    """

    def __init__(self, row: Sequence[str], file: Path) -> None:
        self.file = file
        self.columns: list[_Column] = []
        self.unread: list[str] = []
        for at, heading in enumerate(row):
            column = _column(at, heading)
            if column is None:
                self.unread += [heading] if heading else []
                continue
            twin = next((c for c in self.columns if c[2:] == column[2:]), None)
            if twin is not None:
                raise JobError(
                    f"the columns '{twin.heading}' and '{heading}' mean the same",
                    file=file,
                    way_out="leave one of them out",
                )
            self.columns.append(column)
        if not any(column.key == "name" for column in self.columns):
            raise JobError(
                "the first row has no column 'name'",
                file=file,
                way_out="name the columns in the first row: name, site, procedure, ...",
            )

    def fault(self, row: int, key: str, value: str, message: str, way_out: str | None) -> JobError:
        """Builds the error for a cell, found by the key that its column fills."""
        named = next((c.heading for c in self.columns if c.key == key), key)
        return _fault(self.file, row, named, value, message, way_out)


def doors_of(rows: Sequence[Sequence[str]], file: Path) -> DoorList:
    """The doors in the rows of a list, right or wrong; its first row names the columns.

    Raises JobError for unusable headings.
    """
    if not rows:
        raise JobError("the list is empty", file=file, way_out="name the columns in its first row")
    headings = Headings(rows[0], file)
    sources = [_Row(headings, at, row) for at, row in enumerate(rows[1:], start=2) if any(row)]
    doors = (ListedDoor(row.number, tuple(row.faults()), row.sheet) for row in sources)
    return DoorList(tuple(doors), headings)


def _column(at: int, heading: str) -> _Column | None:
    """The meaning of a heading; case, spaces, hyphens and underscores do not matter."""
    key = re.sub(r"[\s_-]+", "_", heading.strip().lower()).strip("_")
    key = OTHER_NAMES.get(key, key)
    if key in JOB_COLUMNS:
        return _Column(at, heading, "job", key)
    if key in OPENING_COLUMNS:
        return _Column(at, heading, "opening", key)
    side, _, rest = key.partition("_")
    if side in tuple(Side) and rest in LEAF_COLUMNS:
        return _Column(at, heading, "leaf", rest, Side(side))
    return _Column(at, heading, "leaf", key) if key in LEAF_COLUMNS else None


class _Row:
    """One row in the form of a job file's tables; errors name row, column and value."""

    def __init__(self, headings: Headings, number: int, row: Sequence[str]) -> None:
        self._headings, self.number = headings, number
        self._cells = {
            column: " ".join(row[column.at].split())
            # Values for one leaf override values for both.
            for column in sorted(headings.columns, key=lambda each: each.side is not None)
            if column.at < len(row) and row[column.at].strip()
        }
        self._blamed: _Column | None = None
        self.data: dict[str, Any] = {}
        self.sheet: Sheet | None = None

    def faults(self) -> Iterator[HandsfreeError]:
        """Every fault of the row; a faulty cell is skipped to find the next one."""
        yield from self._unreadable()
        while True:
            self.data = self._tables()
            try:
                self._blamed = None
                self._check_leaves()
                self.sheet = sheet_of(self)
            except JobError as fault:
                yield fault
                if self._blamed is None or self._blamed.key == "name":
                    return
                if self._blamed.key == "swing":
                    self._cells[self._blamed] = "same way"  # check its leaves all the same
                else:
                    del self._cells[self._blamed]
            else:
                return

    def fault(
        self,
        message: str,
        table: str = "",
        nth: int = 0,
        key: str | None = None,
        way_out: str | None = None,
    ) -> HandsfreeError:
        """Builds the error for a cell, or for the whole row."""
        found = [c for c in self._cells if c.table == table and c.key == key]
        if table == "leaf":
            name = self.data["leaf"][nth]["name"]
            found = [c for c in found if c.side in (None, name)]
        self._blamed = found[-1] if found else None
        heading = found[-1].heading if found else key or ""
        value = self._cells[found[-1]] if found else ""
        way_out = _EXAMPLE.sub(r"for example \1", way_out) if way_out else None
        return _fault(self._headings.file, self.number, heading, value, message, way_out)

    def _unreadable(self) -> Iterator[HandsfreeError]:
        """Cells with unusable characters, formulas, and a missing name."""
        for column, text in list(self._cells.items()):
            if any(unicodedata.category(c) in ("Cc", "Cf", "Cs", "Co", "Cn") for c in text):
                why, way_out = "it contains invisible characters", "retype it"
            elif text.startswith("="):
                why, way_out = "it is a formula", "write the value itself"
            elif text.upper() in _ERRORS:
                why, way_out = "it is an error of the workbook", "correct its formula"
            elif len(text) > _LONGEST:
                why, way_out = f"it is longer than {_LONGEST} characters", "shorten it"
            elif column.key in _FLAGS and text.lower() not in (*_YES, *_NO):
                why, way_out = "it is neither yes nor no", "yes, no, or nothing if not known"
            elif column.key == "date" and not re.fullmatch(r"\d{4}-\d\d-\d\d", text):
                why, way_out = "it is not a day", "year, month, day: 2026-12-01"
            else:
                continue
            self._blamed = column
            yield _fault(self._headings.file, self.number, column.heading, text, why, way_out)
            del self._cells[column]
            if column.key == "name":
                self._cells[column] = "a door"  # so that the other cells are checked too
        if not any(column.key == "name" for column in self._cells):
            name = next(c for c in self._headings.columns if c.key == "name")
            yield _fault(
                self._headings.file, self.number, name.heading, "", "it is empty", "name the door"
            )
            self._cells[name] = "a door"

    def _tables(self) -> dict[str, Any]:
        """The cells as the tables of a job file."""
        data: dict[str, Any] = {"job": {}, "opening": {}}
        for column, text in self._cells.items():
            if column.table != "leaf":
                data[column.table][column.key] = _told(column.key, text)
        sides = self._sides(data["opening"].get("swing"))
        if sides:
            data["leaf"] = [
                {
                    "name": side.value,
                    **{
                        column.key: _told(column.key, text)
                        for column, text in self._cells.items()
                        if column.table == "leaf" and column.side in (None, side)
                    },
                }
                for side in sides
            ]
        return data

    def _sides(self, swing: str | None) -> tuple[Side, ...]:
        """The leaves that the row describes; () if it describes none."""
        of_leaves = [column.side for column in self._cells if column.table == "leaf"]
        named = tuple(side for side in Side if side in of_leaves)
        if not of_leaves:
            return ()
        if swing == Swing.SINGLE:
            return named or (Side.LEFT,)
        return tuple(Side) if swing is not None or len(named) == 2 else ()

    def _check_leaves(self) -> None:
        """Raises the fault of a cell about a leaf that the door does not or may not have."""
        swing = self.data["opening"].get("swing")
        if len(self.data.get("leaf", ())) == 2 and swing == Swing.SINGLE:
            message = "the row has sizes of a left and of a right leaf"
            raise self.fault(message, "opening", key="swing", way_out="same way, double egress")
        if "leaf" in self.data:
            return
        for column in self._cells:
            if column.table == "leaf":
                self._blamed = column
                raise _fault(
                    self._headings.file, self.number, column.heading, self._cells[column],
                    "the row does not tell how many leaves the door has",
                    "add a column swing: single, same way, double egress",
                )  # fmt: skip


def _told(key: str, text: str) -> str | bool:
    """A cell in the form used in a job file."""
    if key in _FLAGS:
        return text.lower() in _YES
    if key in _WORDS and key not in _FREE:
        return text.lower().replace("-", " ")
    return text


def _fault(
    file: Path, row: int, heading: str, value: str, message: str, way_out: str | None
) -> JobError:
    place = f"row {row}" + (f", column '{heading}'" if heading else "")
    shown = f" '{value[:60]}'" if value else ""
    return JobError(f"{place}{shown}: {message}", file=file, way_out=way_out)


def unread_words(heading: str) -> str:
    """The way out for a heading that has no meaning."""
    known = (*JOB_COLUMNS, *OPENING_COLUMNS, *LEAF_COLUMNS)
    near = nearest(heading.lower().replace(" ", "_"), known)
    return near if near.startswith("did") else "docs/jobs.md lists the columns"
