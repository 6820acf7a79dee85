"""New job files, as made by a user: from answers, a visit, the ledger, and lists."""

from __future__ import annotations

import csv
import shutil
from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from handsfree.cli import main
from handsfree.data import data_folder
from handsfree.job.job import Sheet
from handsfree.job_file.loader import load_sheet
from handsfree.reports.next_service import next_service
from handsfree.visit.last_visit import visit_reader
from handsfree.visit_record.load import load_record

TODAY = date(2100, 3, 4)


@pytest.fixture(autouse=True)
def here(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return tmp_path


def run(*arguments: str, typed: str = "") -> Result:
    done = CliRunner().invoke(main, ["new", *arguments], input=typed)
    assert done.exception is None or isinstance(done.exception, SystemExit), done.exception
    return done


def sheet_of(file: str) -> Sheet:
    return load_sheet(Path(file), ["a156.19"])


def test_a_name_is_enough():
    done = run("--name", "North Entrance 2")
    assert done.exit_code == 0
    assert "handsfree visit --job north-entrance-2.job.toml" in done.output
    sheet = sheet_of("north-entrance-2.job.toml")
    assert (sheet.opening.name, sheet.procedure, sheet.date) == ("North Entrance 2", "", "")


def test_the_questions_are_asked_one_by_one_and_a_wrong_answer_again():
    typed = "\nnorth\nHall\nHH-7\nR. Almeda\nsoon\n2026-12-01\nfr\nes\n2\nanual\n"
    done = run(typed=typed)
    assert done.exit_code == 0, done.output
    assert "'date' is not a day" in done.output
    assert "unknown language 'fr'" in done.output
    sheet = sheet_of("hh-7.job.toml")
    assert (sheet.site, sheet.technician, sheet.date) == ("Hall", "R. Almeda", "2026-12-01")
    assert (sheet.language, sheet.procedure) == ("es", "yearly-service")
    assert len(sheet.opening.leaves) == 2


def test_enter_leaves_a_question_to_the_visit_and_options_are_not_asked():
    done = run("--site", "Hall", "--language", "en", typed="north\n\n\n\n\n\n")
    assert done.exit_code == 0, done.output
    assert "Building" not in done.output
    sheet = sheet_of("north.job.toml")
    assert sheet.site == "Hall"
    assert "swing" in sheet.opening.not_known


@pytest.mark.parametrize(
    ("arguments", "typed", "why"),
    [
        ([], "", "the input ended before it was answered"),
        (["--name", "a", "--date", "soon"], "", "--date: 'date' is not a day"),
        (["--name", "a", "--language", "fr"], "", "--language: unknown language 'fr'"),
        (["--name", "a", "--procedure", "yearly"], "", "yearly-service"),
        (["--name", "a\x1b[31m"], "", "--name: it contains invisible characters"),
        (["--name", "a", "--list", "b"], "", "give only one of"),
        (["--list", "b.csv", "--site", "Hall"], "", "a list has its own columns"),
        (["--list", "none.csv"], "", "the list cannot be read"),
        (["--from", "nowhere"], "", "nowhere"),
    ],
)
def test_bad_input_is_named_and_nothing_is_written(here, arguments, typed, why):
    done = run(*arguments, typed=typed)
    assert done.exit_code == 2
    assert why in done.output
    assert not list(here.iterdir())


def test_a_job_file_that_is_there_is_not_overwritten():
    run("--name", "north", "--site", "Hall")
    done = run("--name", "north", "--site", "another")
    assert done.exit_code == 2
    assert "the file already exists (name another file with --out)" in done.output
    assert sheet_of("north.job.toml").site == "Hall"


@pytest.mark.slow
def test_the_door_of_a_visit_comes_with_what_was_found_out(waiting):
    done = run("--from", str(waiting), "--technician", "T. Nyberg", "--out", "next.job.toml")
    assert done.exit_code == 0, done.output
    visit, sheet = load_record(waiting), sheet_of("next.job.toml")
    found = visit.opening
    assert [leaf.width for leaf in sheet.opening.leaves] == [leaf.width for leaf in found.leaves]
    assert any(leaf.weight for leaf in sheet.opening.leaves)
    assert sheet.opening.motors == found.motors
    assert (sheet.site, sheet.technician) == (visit.sheet.site, "T. Nyberg")
    assert (sheet.procedure, sheet.note) == ("", "")
    assert not sheet.opening.controller_removed
    last = load_sheet(Path("next.job.toml"), ["a156.19"], visit_reader(TODAY)).last_visit
    assert last is not None and last.head == visit.head
    day = next_service(visit)
    assert sheet.date == ("" if day is None else day.isoformat())


@pytest.mark.slow
def test_the_ledger_finds_the_last_visit_of_a_door(here, waiting):
    shutil.copytree(waiting, here / "visits" / "harbour")
    ledger = f"sqlite:///{here / 'ledger.sqlite'}"
    CliRunner().invoke(main, ["ledger", "add", "visits", "--url", ledger])
    name = load_record(waiting).opening.name
    done = run("--door", name, "--ledger", "ledger.sqlite", "--out", "next.job.toml")
    assert done.exit_code == 0, done.output
    assert sheet_of("next.job.toml").opening.name == name

    done = run("--door", "no such door", "--ledger", "ledger.sqlite")
    assert done.exit_code == 2 and "the ledger knows no opening" in done.output
    (here / "visits").rename(here / "moved")
    done = run("--door", name, "--ledger", "ledger.sqlite", "--out", "again.job.toml")
    assert done.exit_code == 2 and "handsfree new --from FOLDER" in done.output


def write(rows: list[list[str]], file: str = "doors.csv") -> str:
    with Path(file).open("w", encoding="utf-8-sig", newline="") as out:
        csv.writer(out, delimiter=";").writerows(rows)
    return file


HEAD = ["name", "site", "procedure", "controller guide", "limits"]


def test_the_good_rows_are_written_and_the_wrong_ones_named(here):
    rows = [
        ["north", "Hall", "yearly-service", "", ""],
        ["south", "Hall", "yearly", "", ""],
        ["east", "Hall", "", "no-guide.toml", ""],
        ["west", "Hall", "", "", "no-limits"],
        ["north", "Hall", "yearly-service", "", ""],
        ["", "Hall", "", "", ""],
        ["../../etc/passwd", "Hall", "", "", ""],
    ]
    done = run("--list", write([HEAD, *rows]))
    assert done.exit_code == 1
    written = sorted(file.name for file in (here / "jobs").iterdir())
    assert written == ["hall-etc-passwd.job.toml", "hall-north.job.toml"]
    for part in (
        "row 3, column 'procedure' 'yearly':",
        "row 4, column 'controller guide' 'no-guide.toml':",
        "row 5, column 'limits' 'no-limits':",
        "row 6, column 'name' 'north': it is the same door as in row 2",
        "row 7, column 'name': it is empty",
        "Job files in jobs: 2",
        "Faults in the list: 5",
    ):
        assert part in done.output, done.output


def test_every_fault_of_a_row_is_named_in_the_order_of_the_rows(here):
    head = [*HEAD, "sensors", "swing", "width"]
    rows = [
        ["north", "Hall", "yearly", "none.toml", "no-limits", "perhaps", "single", "300 in"],
        ["east", "Hall", "yearly", "", "", "", "", ""],
        ["", "Hall", "yearly", "", "", "", "", ""],
        ["good", "Hall", "", "", "", "", "", ""],
    ]
    done = run("--list", write([head, *rows]))
    named = [line.partition("column ")[2].partition("'")[2] for line in done.stderr.splitlines()]
    assert [each.partition("'")[0] for each in named] == [
        *("sensors", "width", "procedure", "controller guide", "limits"),
        *("procedure", "name", "procedure"),
    ]
    assert "Faults in the list: 8" in done.output


def test_a_list_is_run_again_after_a_correction(here):
    run("--list", write([HEAD, ["north", "Hall", "", "", ""], ["", "", "", "", ""]]), "--out", "to")
    first = (here / "to" / "hall-north.job.toml").read_bytes()
    rows = [["new", "Hall", "", "", ""], ["north", "Hall", "", "", ""]]
    assert run("--list", write([HEAD, *rows]), "--out", "to").exit_code == 0
    assert (here / "to" / "hall-north.job.toml").read_bytes() == first

    (here / "to" / "hall-north.job.toml").write_text("changed by hand", encoding="utf-8")
    done = run("--list", write([HEAD, *rows]), "--out", "to")
    assert done.exit_code == 1
    assert "row 3, column 'name' 'north': to/hall-north.job.toml is there already" in done.output
    assert (here / "to" / "hall-north.job.toml").read_text(encoding="utf-8") == "changed by hand"


def test_two_doors_of_one_name_get_two_files(here):
    rows = [["lobby", "Hall", "", "", ""], ["lobby", "Hall", "yearly-service", "", ""]]
    assert run("--list", write([HEAD, *rows])).exit_code == 0
    assert len(list((here / "jobs").iterdir())) == 2


def test_a_list_in_which_nothing_is_right_is_bad_input(here):
    done = run("--list", write([HEAD, ["", "Hall", "", "", ""]]))
    assert done.exit_code == 2
    assert "no job file was written" in done.output


@pytest.mark.parametrize("rows", ["", "\n\n", ";;\n"])
def test_a_list_of_column_names_alone_says_that_no_door_is_in_it(here, rows):
    (here / "doors.csv").write_text(f"name;site;width\n{rows}")
    result = CliRunner().invoke(main, ["new", "--list", "doors.csv"])
    assert result.exit_code == 2
    assert "the list has no door below its first row" in result.output
    assert "named above" not in result.output


def test_files_that_a_row_names_lie_next_to_the_list(here):
    (here / "lists").mkdir()
    shutil.copy(data_folder("audio_fixtures") / "harbour-hall.job.toml", here / "lists")
    guide = Path("lists") / "own.toml"
    guide.write_text("no guide", encoding="utf-8")
    done = run("--list", write([HEAD, ["a", "", "", "own.toml", ""]], "lists/doors.csv"))
    assert done.exit_code == 2
    assert "own.toml" in done.output and "is not valid TOML" in done.output
