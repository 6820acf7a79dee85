"""Choosing one of today's jobs by number, and a visit without a named procedure."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from handsfree.cli import main
from handsfree.cli.job_choice import find_jobs
from handsfree.data import data_folder
from handsfree.journal import events as ev
from handsfree.journal.reader import read

FIXTURES = data_folder("audio_fixtures")


@pytest.fixture(autouse=True)
def here(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return tmp_path


def visit(*arguments: str, typed: str = "") -> Result:
    arguments = ("visit", *arguments)
    if "--sound" not in arguments:
        arguments += ("--typed", "--out", "visit")
    done = CliRunner().invoke(main, arguments, input=typed)
    assert done.exception is None or isinstance(done.exception, SystemExit), done.exception
    return done


def job(name: str, day: str = "", procedure: str = "daily-check", folder: str = ".") -> Path:
    lines = ["[job]", *([f"date = {day}"] if day else [])]
    lines += [f'procedure = "{procedure}"'] if procedure else []
    file = Path(folder) / f"{name}.job.toml"
    file.parent.mkdir(exist_ok=True)
    file.write_text("\n".join([*lines, "[opening]", f'name = "{name}"']), encoding="utf-8")
    return file


def opened() -> ev.VisitOpened:
    first = read(Path("visit"))[0].body
    assert isinstance(first, ev.VisitOpened)
    return first


def test_jobs_stand_by_day_and_door_and_a_broken_one_is_named(here):
    job("late", "2026-12-02")
    job("b", "2026-12-01", folder="jobs")
    job("a", "2026-12-01")
    job("any day")
    Path("broken.job.toml").write_text("[opening]\n", encoding="utf-8")
    Path("settings.toml").write_text("a = 1\n", encoding="utf-8")
    found, (fault,) = find_jobs(Path())
    assert [each.sheet.opening.name for each in found] == ["any day", "a", "b", "late"]
    assert "broken.job.toml" in str(fault) and "'name' is missing" in str(fault)


def test_the_number_chooses_and_the_visit_begins():
    job("old", "2020-01-01")
    job("any day")
    job("far", f"{date.max.year}-01-01")
    done = visit(typed="x\n9\n2\n")
    assert done.exit_code == 0, done.output
    assert "Jobs of today" in done.output and "and 1 more" in done.output
    assert "there is no '9'" in done.output
    assert (opened().sheet.opening.name, opened().procedure) == ("old", "daily-check")


def test_a_later_job_is_chosen_by_its_name_and_offered_where_there_is_no_other():
    job("far", f"{date.max.year}-01-01")
    done = visit(typed="1\n")
    assert "Nothing is planned for today" in done.output
    assert opened().sheet.opening.name == "far"


def test_without_a_job_file_the_way_out_is_told():
    done = visit()
    assert done.exit_code == 2
    assert "there is no job file here (write one: handsfree new)" in done.output


def test_the_end_of_the_input_starts_no_visit(here):
    job("a")
    done = visit()
    assert done.exit_code == 2 and not Path("visit").exists()


@pytest.mark.slow
def test_a_procedure_that_nobody_named_is_asked_for_by_number():
    done = visit("--job", str(job("a", procedure="")), typed="hello\n4\n")
    assert done.exit_code == 0, done.output
    assert "Which visit is it? Say its number." in done.output
    assert "four: Daily walk check." in done.output
    assert opened().procedure == "daily-check"


def test_without_an_answer_no_visit_begins():
    done = visit("--job", str(job("a", procedure="")), typed="stop\n")
    assert done.exit_code == 2
    assert "no procedure was chosen" in done.output and "--procedure NAME" in done.output
    assert not Path("visit").exists()


def test_an_option_comes_before_the_job_file():
    done = visit("--job", str(job("a")), "--procedure", "yearly-service", "--language", "es")
    assert done.exit_code == 0, done.output
    assert (opened().procedure, opened().sheet.language) == ("yearly-service", "es")


def test_a_wrong_procedure_in_a_job_file_is_bad_input():
    done = visit("--job", str(job("a", procedure="yearly")))
    assert done.exit_code == 2 and "yearly-service" in done.output


def test_a_recording_cannot_be_asked():
    sound = str(FIXTURES / "harbour-hall.flac")
    done = visit("--job", str(job("a", procedure="")), "--sound", sound, "--out", "visit")
    assert done.exit_code == 2
    assert "the job names no procedure" in done.output
    assert not Path("visit").exists()
