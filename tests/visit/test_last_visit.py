"""The last visit is read from its folder when a job file names it, and never again."""

from __future__ import annotations

import shutil
from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner

from handsfree.cli import main
from handsfree.errors import JobError
from handsfree.job_file.loader import load_sheet
from handsfree.visit.last_visit import visit_reader
from handsfree.visit_record.load import load_record

JOB = """
[job]
reference = "{reference}"
{last}
[opening]
name = "{door}"
fire_rated = false

[[leaf]]
name = "left"
hinge_side = "left"
width = "36 in"
weight = "120 lb"
weight_source = "label"
"""


def job(folder: Path, reference: str, last: str = "", door: str = "East door") -> Path:
    file = folder / f"{reference}.job.toml"
    last = f'last_visit = "{last}"' if last else ""
    file.write_text(JOB.format(reference=reference, last=last, door=door), encoding="utf-8")
    return file


def visit(file: Path, out: Path, *lines: str) -> str:
    told = "".join(f"{line}\n" for line in lines)
    asked = ["visit", "--typed", "--job", str(file), "--procedure", "yearly-service"]
    done = CliRunner().invoke(main, [*asked, "--out", str(out)], input=told)
    assert done.exit_code == 0, done.output
    return done.output


@pytest.fixture(scope="module")
def first(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A visit with two readings, one of them measured again."""
    folder = tmp_path_factory.mktemp("first")
    lines = ("left leaf opening time 5.3", "affirm", "left leaf opening force 11 pounds", "affirm")
    visit(job(folder, "one"), folder / "one", *lines)
    return folder


@pytest.mark.slow
def test_its_readings_are_kept_in_the_journal_of_the_next_one(first, tmp_path):
    shutil.copytree(first / "one", tmp_path / "one")
    said = visit(
        job(tmp_path, "two", "one"), tmp_path / "two", "left leaf opening time 5.4", "affirm"
    )
    assert "Last visit, five point three." in said
    shutil.rmtree(tmp_path / "one")
    record = load_record(tmp_path / "two")
    assert record.last_visit is not None and record.last_visit.reference == "one"
    assert [str(each.measure) for each in record.last_visit.readings] == ["5.3 s", "11 lbf"]
    assert CliRunner().invoke(main, ["report", str(tmp_path / "two")]).exit_code == 0


def test_the_year_before_is_last_year(first):
    sheet = load_sheet(job(first, "next", "one"), ("a156.19",), visit_reader(date(2, 1, 1)))
    assert sheet.last_visit is not None and not sheet.last_visit.last_year
    year = int(sheet.last_visit.on[:4])
    sheet = load_sheet(job(first, "next", "one"), ("a156.19",), visit_reader(date(year + 1, 1, 1)))
    assert sheet.last_visit is not None and sheet.last_visit.last_year


@pytest.mark.parametrize(
    ("last", "door", "problem"),
    [
        ("nowhere", "East door", "last_visit: there is no journal here"),
        ("one", "West door", "last_visit: that visit was at 'East door'"),
    ],
)
def test_a_folder_that_is_no_visit_at_this_door_is_named_with_its_line(first, last, door, problem):
    file = job(first, "bad", last, door)
    with pytest.raises(JobError) as caught:
        load_sheet(file, ("a156.19",), visit_reader(date(2100, 1, 1)))
    assert caught.value.message.startswith(problem) and caught.value.line == 4


def test_a_broken_visit_is_no_last_visit(first, tmp_path):
    shutil.copytree(first / "one", tmp_path / "one")
    journal = tmp_path / "one" / "journal.jsonl"
    journal.write_bytes(journal.read_bytes().replace(b'"5.3"', b'"5.4"'))
    with pytest.raises(JobError, match="the journal of that visit is broken"):
        load_sheet(job(tmp_path, "two", "one"), ("a156.19",), visit_reader(date(2100, 1, 1)))


def test_without_a_reader_the_last_visit_is_left_out(first):
    assert load_sheet(job(first, "none", "nowhere"), ("a156.19",)).last_visit is None
