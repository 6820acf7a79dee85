"""Lists as written by other programs: the csv module, and XLSX by XlsxWriter."""

from __future__ import annotations

import csv
import io
from datetime import date, datetime
from pathlib import Path

import pytest

from handsfree.errors import JobError
from handsfree.job_file import list_file
from handsfree.job_file.door_list import doors_of
from handsfree.job_file.list_file import MOST_ROWS, read_rows

HEAD = ("name", "site", "width")
ROWS = [("north, main", 'the "Hall"', "36 in"), ("Türe ñ", "a;b\tc", ""), ("two\nlines", "", "36")]


def text_of(delimiter: str, end: str) -> str:
    out = io.StringIO(newline="")
    csv.writer(out, delimiter=delimiter, lineterminator=end).writerows([HEAD, *ROWS])
    return out.getvalue()


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
@pytest.mark.parametrize("end", ["\n", "\r\n"])
@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_a_csv_in_every_dress(tmp_path, delimiter, end, encoding):
    file = tmp_path / "doors.csv"
    file.write_bytes(text_of(delimiter, end).encode(encoding))
    assert read_rows(file) == [HEAD, *ROWS]


def test_the_separator_may_be_named_in_a_line_of_its_own(tmp_path):
    file = tmp_path / "doors.csv"
    file.write_text("sep=;\nname;site\na,b;c\n", encoding="utf-8")
    assert read_rows(file)[1:] == [("name", "site"), ("a,b", "c")]


def workbook(file: Path, rows: list[list[object]]) -> Path:
    import xlsxwriter

    with xlsxwriter.Workbook(str(file)) as book:
        sheet = book.add_worksheet()
        days = book.add_format({"num_format": "yyyy-mm-dd"})
        for at, row in enumerate(rows):
            for nth, value in enumerate(row):
                if isinstance(value, date | datetime):
                    sheet.write_datetime(at, nth, value, days)
                else:
                    sheet.write(at, nth, value)
    return file


def test_a_workbook_of_another_library(tmp_path):
    rows = [["name", "date", "width", "sensors", "note"]]
    rows += [
        ["north", datetime(2026, 12, 1), 36, True],
        ["", date(2026, 12, 2), 35.75, False],
    ]
    found = read_rows(workbook(tmp_path / "doors.xlsx", rows))
    assert found[0] == ("name", "date", "width", "sensors", "note")
    assert found[1] == ("north", "2026-12-01", "36", "yes")
    assert found[2] == ("", "2026-12-02", "35.75", "no")


def test_a_formula_is_its_stored_value(tmp_path):
    import xlsxwriter

    with xlsxwriter.Workbook(str(tmp_path / "doors.xlsx")) as book:
        sheet = book.add_worksheet()
        sheet.write_row(0, 0, ["name", "width"])
        sheet.write_formula(1, 0, '="north "&"door"', None, "north door")
        sheet.write_formula(1, 1, "=30+6", None, 36)
    assert read_rows(tmp_path / "doors.xlsx")[1] == ("north door", "36")


def test_a_formula_without_a_value_is_not_taken_for_an_empty_cell(tmp_path):
    from openpyxl import Workbook

    book = Workbook()
    assert book.active is not None
    book.active.append(["name", "width"])
    book.active.append(["north", "=30+6"])
    book.save(tmp_path / "doors.xlsx")
    assert read_rows(tmp_path / "doors.xlsx")[1] == ("north", "=")


def test_a_cell_far_away_is_not_reached(tmp_path):
    import xlsxwriter

    with xlsxwriter.Workbook(str(tmp_path / "doors.xlsx")) as book:
        sheet = book.add_worksheet()
        sheet.write(0, 0, "name")
        sheet.write(1, 0, "north")
        sheet.write(1, 16383, "far")
    assert read_rows(tmp_path / "doors.xlsx")[1][0] == "north"


@pytest.mark.parametrize(
    ("content", "why"),
    [
        (b"PK\x03\x04 no workbook", "the workbook cannot be read"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "an old or a locked workbook"),
        ("name\nTür\n".encode("latin-1"), "its text is not UTF-8"),
        (b"name\n" + b"x" * 200_000, "field larger than field limit"),
    ],
)
def test_a_file_that_is_no_list_is_refused_with_the_way_out(tmp_path, content, why):
    file = tmp_path / "doors"
    file.write_bytes(content)
    with pytest.raises(JobError, match=why) as refused:
        read_rows(file)
    assert "XLSX" in str(refused.value)


def test_a_missing_list_and_one_that_is_too_long_are_refused(tmp_path):
    with pytest.raises(JobError, match="no such file"):
        read_rows(tmp_path / "none.csv")
    (tmp_path / "long.csv").write_text("name\n" + "a\n" * MOST_ROWS, encoding="utf-8")
    with pytest.raises(JobError, match="more than 20,000 rows"):
        read_rows(tmp_path / "long.csv")


def test_a_workbook_that_unpacks_to_too_much_is_refused(tmp_path, monkeypatch):
    monkeypatch.setattr(list_file, "_MOST_UNPACKED", 1000)
    with pytest.raises(JobError, match="too large"):
        read_rows(workbook(tmp_path / "doors.xlsx", [["name"], ["a"]]))


@pytest.mark.slow
def test_five_thousand_doors_in_a_workbook(tmp_path):
    rows: list[list[object]] = [["name", "site", "swing", "width"]]
    for nth in range(1, 5001):
        rows.append([f"door {nth}", "Harbour Hall", "single", 300 if nth % 1000 == 0 else 36])
    file = workbook(tmp_path / "doors.xlsx", rows)
    found = doors_of(read_rows(file), file)
    assert len(found.doors) == 5000
    wrong = [fault for door in found.doors for fault in door.faults]
    assert [str(each).partition("'width'")[0] for each in wrong] == [
        f"{file}: row {row}, column " for row in (1001, 2001, 3001, 4001, 5001)
    ]
