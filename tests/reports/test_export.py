"""The export: every reading as in the record, a matching schema, no formula in a table."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import jsonschema
import pytest
from click.testing import CliRunner

from handsfree.cli import main
from handsfree.reports.export import COLUMNS, export_csv, export_json, export_schema
from handsfree.visit_record.load import load_record

from ..ledger.visits import FAILING, amend, small_visit

SCHEMA = Path(__file__).parents[2] / "docs" / "export.schema.json"


def rows(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text)))


def test_the_schema_in_the_docs_is_the_current_one():
    made = "handsfree export --schema --out docs/export.schema.json"
    assert SCHEMA.read_text(encoding="utf-8") == export_schema(), f"make it anew: {made}"


@pytest.mark.slow
def test_the_json_fits_its_schema_and_tells_the_visit(reviewed):
    record = load_record(reviewed)
    told = json.loads(export_json(record))
    schema = json.loads(SCHEMA.read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    checked = jsonschema.Draft202012Validator(schema)
    checked.validate(told)
    assert told["journal_head"] == record.head
    assert [r["now"]["value"] for r in told["visit"]["readings"]] == [
        str(item.now.value) for item in record.readings
    ]
    for broken in ({**told, "version": 2}, {**told, "visit": {}}, {**told, "journal_head": 3}):
        assert not checked.is_valid(broken)


def test_the_table_has_a_row_for_each_reading(reviewed):
    record = load_record(reviewed)
    table = rows(export_csv(record))
    assert [(r["reading"], r["value"], r["unit"]) for r in table] == [
        (item.id, str(item.now.value), item.now.unit.value) for item in record.readings
    ]
    amended = [row for row in table if row["amended_by"]]
    assert [row["amended_by"] for row in amended] == ["A. Okoro"]
    assert amended[0]["accepted"] != f"{amended[0]['value']} {amended[0]['unit']}"
    failing = [row for row in table if row["verdict"] == "fail" and "left" in row["place"]]
    assert {row["quantity"] for row in failing} == {"closing_force"}
    assert len(failing) == 1
    attempts: dict[tuple[str, ...], set[str]] = {}
    for row in table:
        key = (row["subject"], row["quantity"], row["attempt"])
        attempts.setdefault(key, set()).add(row["verdict"])
    assert len(attempts) < len(table)  # there are runs
    assert {len(verdicts) for verdicts in attempts.values()} == {1}
    assert all("at most 15 lbf" in row["limits"] for row in failing)
    assert "at least" in next(r["limits"] for r in table if r["quantity"] == "closing_time")


@pytest.mark.parametrize(
    "name",
    [
        *("=1+1", "+49 12", "-cmd", "@SUM(A1)", "\t=1", "\r=1", "  =1", "\n=1", "＝1", "\x01=1"),  # noqa: RUF001
        *("-2+3", "-1;=2", '=HYPERLINK("http://x","y")', "\ufeff=1"),
    ],
)
def test_no_text_can_be_a_formula(tmp_path, name):
    folder = small_visit(tmp_path / "a", site=name, technician=f'x",{name}')
    (first, *_) = rows(export_csv(load_record(folder)))
    assert first["site"] == f"'{name}"
    assert first["technician"] == f'x",{name}'


def test_a_negative_number_stays_one(tmp_path):
    folder = small_visit(tmp_path / "a", readings=(("opening_speed", "-2.50"),))
    assert rows(export_csv(load_record(folder)))[0]["value"] == "-2.50"


def test_the_command_prints_writes_and_says_where_a_journal_is_broken(tmp_path):
    folder = small_visit(tmp_path / "a", readings=FAILING)
    amend(folder, "r1", "6.0")
    run = CliRunner().invoke(main, ["export", str(folder)])
    assert run.exit_code == 0 and json.loads(run.output)["format"] == "handsfree visit"
    out = tmp_path / "x.csv"
    assert CliRunner().invoke(main, ["export", str(folder), "--csv", "--out", str(out)])
    with out.open(encoding="utf-8-sig", newline="") as file:
        assert next(csv.reader(file)) == list(COLUMNS)
    journal = folder / "journal.jsonl"
    journal.write_bytes(journal.read_bytes().replace(b"listened", b"listens!"))
    run = CliRunner().invoke(main, ["export", str(folder), "--out", str(tmp_path / "x.json")])
    assert run.exit_code == 1 and "broken at line 9" in run.stderr
    told = json.loads((tmp_path / "x.json").read_text(encoding="utf-8"))
    assert told["journal_head"] is None
    assert [r["now"]["value"] for r in told["visit"]["readings"]] == ["2.0", "6.4", "17"]


def test_the_command_wants_a_folder_that_is_a_visit(tmp_path):
    assert CliRunner().invoke(main, ["export"]).exit_code == 2
    run = CliRunner().invoke(main, ["export", str(tmp_path)])
    assert run.exit_code == 2 and "there is no journal here" in run.stderr
    folder = small_visit(tmp_path / "a")
    run = CliRunner().invoke(main, ["export", str(folder), "--out", "/proc/none/x"])
    assert run.exit_code == 2 and "could not be written" in run.stderr
