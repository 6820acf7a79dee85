"""The readings as a workbook, read back by openpyxl."""

from __future__ import annotations

import io
import zipfile

import openpyxl
import pytest
from click.testing import CliRunner

from handsfree.cli import main
from handsfree.reports.export import COLUMNS
from handsfree.reports.export_xlsx import export_xlsx
from handsfree.visit_record.load import load_record

from ..ledger.visits import small_visit


def sheet_of(content: bytes):
    book = openpyxl.load_workbook(io.BytesIO(content))
    assert book.sheetnames == ["readings"]
    return book["readings"]


@pytest.mark.slow
def test_numbers_are_numbers_as_they_were_said_and_rows_are_those_of_the_csv(reviewed):
    record = load_record(reviewed)
    sheet = sheet_of(export_xlsx(record))
    rows = list(sheet.iter_rows())
    assert tuple(cell.value for cell in rows[0]) == COLUMNS
    assert len(rows) == 1 + len(record.readings)
    at = {name: nth for nth, name in enumerate(COLUMNS)}
    for row, item in zip(rows[1:], record.readings, strict=True):
        value = row[at["value"]]
        assert value.data_type == "n" and value.value == float(item.now.value)
        exponent = item.now.value.as_tuple().exponent
        assert value.number_format.partition(".")[2] == "0" * max(0, -exponent)
        assert row[at["reading"]].value == item.id
    assert sheet.freeze_panes == "A2" and sheet.auto_filter.ref


HOSTILE = ("=1+1", '=HYPERLINK("x","y")', "+1", "-1+2", "@SUM(A1)", "\t=1", "\r=1", "＝1", "\x01=1")  # noqa: RUF001


@pytest.mark.slow
def test_no_text_becomes_a_formula(tmp_path):
    """CWE-1236, formulas in exported tables: a cell is a text by its type (from memory)."""
    for nth, said in enumerate(HOSTILE):
        record = load_record(small_visit(tmp_path / str(nth), site=said, technician=said))
        content = export_xlsx(record)
        for row in sheet_of(content).iter_rows(min_row=2):
            assert all(cell.data_type in ("s", "n") for cell in row)
            assert row[0].data_type == "s" and row[0].quotePrefix
        with zipfile.ZipFile(io.BytesIO(content)) as book:
            assert b"<f>" not in book.read("xl/worksheets/sheet1.xml")


def test_a_text_stays_what_was_said(tmp_path):
    record = load_record(small_visit(tmp_path / "a", site="=1+1 \U0001f6aa"))
    assert sheet_of(export_xlsx(record))["A2"].value == "=1+1 \U0001f6aa"


def test_the_command_writes_a_file(tmp_path):
    folder, out = small_visit(tmp_path / "a"), tmp_path / "readings.xlsx"
    run = CliRunner().invoke(main, ["export", str(folder), "--xlsx", "--out", str(out)])
    assert run.exit_code == 0, run.output
    assert sheet_of(out.read_bytes()).max_row == 4
