"""The ledger's commands: output, exit codes, one line per error."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from handsfree.cli import main

from ..ledger.visits import FAILING, small_visit


@pytest.fixture
def ledger(tmp_path, monkeypatch):
    """Runs a command of the ledger: exit code, output, stderr."""
    monkeypatch.setenv("HANDSFREE_LEDGER", f"sqlite:///{tmp_path / 'ledger.sqlite'}")

    def run(*arguments: object) -> tuple[int, str, str]:
        done = CliRunner().invoke(main, ["ledger", *map(str, arguments)])
        assert done.exception is None or isinstance(done.exception, SystemExit), done.exception
        return done.exit_code, done.stdout, done.stderr

    return run


@pytest.fixture
def visits(tmp_path) -> Path:
    small_visit(tmp_path / "visits" / "a", readings=FAILING, notes=("the pivot has play",))
    small_visit(tmp_path / "visits" / "b", name="side \x1b[31mdoor\n", reference="HH-2")
    return tmp_path / "visits"


def test_visits_go_in_and_are_asked_for(ledger, visits):
    assert ledger("add", visits) == (0, f"{visits}/a: added\n{visits}/b: added\n", "")
    assert ledger("add", visits)[1].count("unchanged") == 2
    code, told, _ = ledger("due", "--within", 400 * 365)
    assert code == 0 and sorted(told.splitlines()) == [
        "2101-03-04  main entrance, Harbour Hall  (last visit 2100-03-04, R. Almeda, HH-1)",
        "2101-03-04  side  [31mdoor , Harbour Hall  (last visit 2100-03-04, R. Almeda, HH-2)",
    ]
    assert "\x1b" not in told and len(told.splitlines()) == 2
    assert ledger("due") == (0, "Nothing is due.\n", "")
    assert "not OK: left leaf: closing force 17 lbf" in ledger("failing")[1]
    assert ledger("history", "main", "--quantity", "closing_force")[1].split() == [
        *("2100-03-04", "left", "leaf,", "closing", "force", "17", "lbf"),
        *("as", "found", "and", "as", "left", "fail"),
    ]
    assert ledger("search", "PIVOT", "play")[1].startswith("2100-03-04  HH-1: main entrance, ")
    assert ledger("search", "nowhere")[1] == "No visit has all of these words.\n"
    assert ledger("rebuild", visits)[0] == 0


def test_json_is_an_array_of_records(ledger, visits):
    code, told, _ = ledger("add", visits, "--json")
    assert code == 0 and [each["came"] for each in json.loads(told)] == ["added", "added"]
    for question in (("due", "--within", 400 * 365), ("failing",), ("search", "hh-")):
        rows = json.loads(ledger(*question, "--json")[1])
        assert rows and {"site", "opening"} <= rows[0].keys()
    assert json.loads(ledger("search", "nowhere", "--json")[1]) == []
    assert len(json.loads(ledger("history", "main", "--json", "--most", 2)[1])) == 2


def test_what_is_refused_is_told_and_the_rest_goes_in(ledger, visits):
    (visits / "a" / "journal.head").unlink()
    code, told, said = ledger("add", visits)
    assert (code, told) == (1, f"{visits}/b: added\n")
    assert said.startswith(f"{visits}/a: broken, line ") and said.count("\n") == 1


@pytest.mark.parametrize(
    "url", ["postgresql://nobody@127.0.0.1:1/x", "what", "sqlite:////proc/x/y"]
)
def test_a_wrong_ledger_is_one_line_and_exit_code_2(ledger, visits, url):
    for command in (("add", visits), ("rebuild", visits), ("due",), ("search", "x")):
        code, told, said = ledger(*command, "--url", url)
        assert (code, told) == (2, "") and said.count("\n") == 1


def test_asking_before_anything_is_in_names_the_way_out(ledger):
    code, _, said = ledger("due")
    assert code == 2 and "handsfree ledger add" in said
