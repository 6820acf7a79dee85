"""handsfree report: the page's file, and one clear line if it cannot be made."""

from __future__ import annotations

import pytest
from click.testing import CliRunner

from handsfree.cli import main
from handsfree.journal.writer import Journal

from ..journal.examples import AT, BODIES


@pytest.fixture
def folder(tmp_path):
    with Journal.create(tmp_path / "visit") as journal:
        journal.append_all(BODIES, AT)
    return tmp_path / "visit"


def report(*args: object):
    return CliRunner().invoke(main, ["report", *map(str, args)])


def test_the_page_lies_in_the_visit_s_folder_or_where_it_is_wanted(folder, tmp_path):
    done = report(folder)
    assert done.exit_code == 0 and done.output.startswith(f"{folder / 'report.html'}: ")
    assert "6.20 s" in (folder / "report.html").read_text(encoding="utf-8")
    assert report(folder, "--out", tmp_path / "other.html", "--silent").exit_code == 0
    assert (tmp_path / "other.html").read_text(encoding="utf-8").startswith("<!doctype html>")


def test_the_report_leaves_the_journal_as_it_is(folder):
    before = (folder / "journal.jsonl").read_bytes()
    report(folder)
    assert (folder / "journal.jsonl").read_bytes() == before
    assert CliRunner().invoke(main, ["verify", str(folder)]).exit_code == 0


def test_open_shows_it_in_the_browser(folder, monkeypatch):
    shown = []
    monkeypatch.setattr("webbrowser.open", shown.append)
    report(folder, "--open")
    assert shown == [(folder / "report.html").as_uri()]


def test_a_broken_journal_makes_a_page_that_says_so_and_exits_1(folder):
    path = folder / "journal.jsonl"
    path.write_bytes(path.read_bytes().replace(b'"6.20"', b'"9.20"'))
    done = report(folder)
    assert done.exit_code == 1 and "The journal is broken at line 4" in done.output
    page = (folder / "report.html").read_text(encoding="utf-8")
    assert "The journal is broken at line 4" in page and "9.20" not in page


def test_no_journal_and_no_place_to_write_are_one_line(folder, tmp_path):
    done = report(tmp_path / "nothing")
    assert done.exit_code == 2 and "there is no journal here" in done.output
    assert len(done.output.strip().splitlines()) == 1
    done = report(folder, "--out", tmp_path / "no" / "such" / "place.html")
    assert done.exit_code == 2 and "--out" in done.output
    assert len(done.output.strip().splitlines()) == 1
