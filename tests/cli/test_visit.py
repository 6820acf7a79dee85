"""visit, resume, summary and demo as a user runs them."""

from __future__ import annotations

import json
import re
import tomllib
from pathlib import Path

import pytest
from click.testing import CliRunner

from handsfree.cli import main
from handsfree.data import data_folder
from handsfree.journal.reader import read
from handsfree.journal.reader import verify as verify_folder

JOB = data_folder("audio_fixtures") / "harbour-hall.job.toml"
SCRIPT = tomllib.loads(
    (data_folder("audio_fixtures") / "harbour-hall.script.toml").read_text(encoding="utf-8")
)
LINES = [
    line.split(": ", 1)[1]
    for line in SCRIPT["script"]["lines"].splitlines()
    if line and not line.startswith("#")
]


def run(*arguments: str, typed: str = "") -> tuple[int, str]:
    result = CliRunner().invoke(main, list(arguments), input=typed)
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result.exit_code, result.output


def readings_of(folder: Path) -> list[list[str]]:
    """The summary's readings: subject, quantity, unit, as found, as left."""
    code, out = run("summary", str(folder), "--json")
    assert code == 0
    return [
        [line["subject"], line["quantity"], line["unit"], line["as_found"][-1], line["as_left"][-1]]
        for line in json.loads(out)["lines"]
    ]


def test_a_whole_typed_visit_holds_the_readings_of_its_script(tmp_path):
    folder = tmp_path / "visit"
    code, out = run(
        "visit", "--job", str(JOB), "--typed", "--out", str(folder), typed="\n".join(LINES)
    )
    assert code == 0
    assert "The visit is complete" in out
    assert sorted(readings_of(folder)) == sorted(SCRIPT["expected"]["readings"])
    assert (folder / "summary.txt").read_text(encoding="utf-8").startswith("HH-0417")


@pytest.mark.parametrize("cut", [1, 30, 97, 140])
def test_a_visit_cut_anywhere_is_resumed_to_the_same_end(tmp_path, cut):
    folder = tmp_path / "visit"
    run("visit", "--job", str(JOB), "--typed", "--out", str(folder), typed="\n".join(LINES[:cut]))
    code, out = run("resume", str(folder), typed="\n".join(LINES[cut:]))
    assert code == 0
    assert "The visit is complete" in out
    assert sorted(readings_of(folder)) == sorted(SCRIPT["expected"]["readings"])
    assert verify_folder(folder).whole


@pytest.mark.slow
def test_the_demo_hears_the_recorded_visit_and_holds_exactly_its_readings(tmp_path):
    folder = tmp_path / "demo"
    code, out = run("demo", "--out", str(folder))
    assert code == 0
    assert sorted(readings_of(folder)) == sorted(SCRIPT["expected"]["readings"])
    assert verify_folder(folder).whole
    warned = out.index("Fail. The opening time of the left leaf is 2.9 seconds")
    assert out.index("Left leaf, opening time, four point two seconds.") > warned
    code, out = run("summary", str(folder))
    assert re.search(r"left leaf, opening time +2\.9 -> 4\.2 s +pass", out)
    assert len(list((folder / "clips").glob("*.flac"))) == len(LINES)


@pytest.mark.parametrize(
    ("arguments", "named"),
    [
        (["visit", "--job", "none.toml", "--typed"], "none.toml"),
        (["visit", "--job", str(JOB), "--typed", "--procedure", "none"], "none"),
        (["visit", "--job", str(JOB), "--sound", "none.flac"], "none.flac"),
        (["visit", "--job", str(JOB)], "--typed"),
        (["resume", "nowhere"], "nowhere"),
        (["summary", "nowhere"], "nowhere"),
    ],
)
def test_bad_input_is_one_line_and_leaves_no_half_written_visit(
    tmp_path, monkeypatch, arguments, named
):
    monkeypatch.chdir(tmp_path)
    code, out = run(*arguments)
    assert code == 2
    assert named in out
    assert "Traceback" not in out
    assert list(tmp_path.iterdir()) == []


def test_a_visit_is_not_written_over_another_one(tmp_path):
    folder = tmp_path / "visit"
    run("visit", "--job", str(JOB), "--typed", "--out", str(folder), typed="done")
    before = read(folder)
    code, out = run("visit", "--job", str(JOB), "--typed", "--out", str(folder), typed="done")
    assert code == 2
    assert "resume" in out
    assert read(folder) == before


def test_a_closed_visit_is_not_resumed(tmp_path):
    folder = tmp_path / "visit"
    run("visit", "--job", str(JOB), "--typed", "--out", str(folder), typed="\n".join(LINES))
    code, out = run("resume", str(folder))
    assert code == 2
    assert "closed" in out
