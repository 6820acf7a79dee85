"""visit, resume, summary and demo as a user runs them."""

from __future__ import annotations

import json
import os
import re
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner

from handsfree.cli import main
from handsfree.data import data_folder
from handsfree.journal import events as ev
from handsfree.journal.reader import JOURNAL, read
from handsfree.journal.reader import verify as verify_folder
from handsfree.journal.writer import Journal

from ..script import as_expected, script_lines, typed_lines
from ..talk import PROCEDURE

JOB = data_folder("audio_fixtures") / "harbour-hall.job.toml"
LINES = typed_lines()


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


@pytest.mark.slow
def test_a_whole_typed_visit_holds_the_readings_of_its_script(tmp_path):
    folder = tmp_path / "visit"
    code, out = run(
        "visit", "--job", str(JOB), "--typed", "--out", str(folder), typed="\n".join(LINES)
    )
    assert code == 0
    assert "The visit is complete" in out
    assert as_expected(readings_of(folder))
    assert (folder / "summary.txt").read_text(encoding="utf-8").startswith("HH-0417")


@pytest.mark.slow
@pytest.mark.parametrize("cut", [1, 30, 97, 140])
def test_a_visit_cut_anywhere_is_resumed_to_the_same_end(tmp_path, cut):
    folder = tmp_path / "visit"
    run("visit", "--job", str(JOB), "--typed", "--out", str(folder), typed="\n".join(LINES[:cut]))
    code, out = run("resume", str(folder), typed="\n".join(LINES[cut:]))
    assert code == 0
    assert "The visit is complete" in out
    assert as_expected(readings_of(folder))
    assert verify_folder(folder).whole


@pytest.fixture(scope="module")
def demo(tmp_path_factory) -> tuple[Path, str]:
    """The folder of the recorded visit, and what was printed."""
    folder = tmp_path_factory.mktemp("demo") / "visit"
    code, out = run("demo", "--out", str(folder))
    assert code == 0
    return folder, out


@pytest.mark.slow
def test_the_demo_hears_the_recorded_visit_and_holds_exactly_its_readings(demo):
    folder, out = demo
    assert as_expected(readings_of(folder))
    assert verify_folder(folder).whole
    warned = out.index("Fail. The opening time of the left leaf is 2.9 seconds")
    assert out.index("Left leaf, opening time three point seven") > warned
    _, out = run("summary", str(folder))
    assert re.search(r"left leaf, opening time +2\.9 -> 3\.7\d, 3\.7\d, 3\.7\d s +pass", out)
    assert len(list((folder / "clips").glob("*.flac"))) == len(script_lines())


@pytest.mark.slow
def test_the_sound_and_the_marks_of_every_run_are_kept_for_the_office(demo):
    """Three runs, six marks each, and a clip that gives the same marks when it is timed alone."""
    folder, _ = demo
    runs = [e.body for e in read(folder) if isinstance(e.body, ev.CycleTimed)]
    assert [len(timed.marks) for timed in runs] == [6, 6, 6]
    code, out = run("time", str(folder / "clips" / runs[0].clip), "--marks", "6", "--json")
    assert code == 0
    alone = [mark["at_s"] for mark in json.loads(out)["marks"]]
    kept = [mark.sample / 16000 for mark in runs[0].marks]
    assert alone == pytest.approx(kept, abs=0.02)


@pytest.mark.parametrize(
    ("arguments", "named"),
    [
        (["visit", "--job", "none.toml", "--typed"], "none.toml"),
        (["visit", "--job", str(JOB), "--typed", "--procedure", "none"], "none"),
        (["visit", "--job", str(JOB), "--sound", "none.flac"], "none.flac"),
        (["visit", "--job", str(JOB), "--microphone", "none of these"], "there is no microphone"),
        (
            ["visit", "--job", str(JOB), "--typed", "--sound", "none.flac"],
            "only one of --typed and --sound",
        ),
        (["visit", "--job", str(JOB), "--typed", "--headset"], "no microphone"),
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


@pytest.mark.slow
def test_a_visit_that_was_killed_between_closing_and_summary_gets_its_summary(tmp_path):
    folder = tmp_path / "visit"
    run("visit", "--job", str(JOB), "--typed", "--out", str(folder), typed="\n".join(LINES))
    made, before = (folder / "summary.txt").read_text(), read(folder)
    for harm in ((folder / "summary.txt").unlink, lambda: (folder / "summary.txt").write_text("")):
        harm()
        code, out = run("resume", str(folder))
        assert code == 0 and "Kept in" in out
        assert (folder / "summary.txt").read_text() == made
        assert read(folder) == before
    code, out = run("resume", str(folder))
    assert code == 2 and "closed" in out


@pytest.mark.slow
@pytest.mark.parametrize("kind", ["link", "pipe"])
def test_a_summary_that_leads_elsewhere_is_replaced_and_not_written_through(tmp_path, kind):
    folder, mine = tmp_path / "visit", tmp_path / "mine.txt"
    run("visit", "--job", str(JOB), "--typed", "--out", str(folder), typed="\n".join(LINES))
    made = (folder / "summary.txt").read_text()
    (folder / "summary.txt").unlink()
    mine.write_text("precious")
    if kind == "link":
        (folder / "summary.txt").symlink_to(mine)
    else:
        os.mkfifo(folder / "summary.txt")
    assert run("resume", str(folder))[0] == 0
    assert (folder / "summary.txt").read_text() == made
    assert (folder / "summary.txt").stat().st_mode & 0o777 == 0o600
    assert mine.read_text() == "precious"


@pytest.mark.slow
@pytest.mark.parametrize("torn", [False, True])
def test_a_clock_that_was_set_back_between_two_runs_is_kept_and_told(tmp_path, torn):
    """Also after a power cut, which tears the last line and may reset the clock at once."""
    folder = tmp_path / "visit"
    tomorrow = datetime.now(UTC) + timedelta(days=1)
    run("visit", "--job", str(JOB), "--typed", "--out", str(folder), typed="done")
    with Journal.open(folder, tomorrow) as journal:
        journal.append(ev.Fault(what="terminated", detail="by SIGTERM"), tomorrow)
    if torn:
        with (folder / JOURNAL).open("a") as file:
            file.write('{"at":"20')
    code, out = run("resume", str(folder), typed="clear")
    assert code == 0
    assert "This machine's clock was set back since the last entry" in " ".join(out.split())
    (fault,) = [e.body for e in read(folder) if isinstance(e.body, ev.Fault)][1:]
    assert fault.what == "clock_jumped"
    assert re.fullmatch(r"the time of day is 86\d\d\d s before .*", fault.detail)


@pytest.mark.slow
def test_a_closed_visit_is_not_resumed(tmp_path):
    folder = tmp_path / "visit"
    run("visit", "--job", str(JOB), "--typed", "--out", str(folder), typed="\n".join(LINES))
    code, out = run("resume", str(folder))
    assert code == 2
    assert "closed" in out


def test_a_visit_by_your_own_procedure_and_guide_goes_on_in_any_folder(tmp_path, monkeypatch):
    """Both are named as they lie beside you, and found again from elsewhere."""
    here = tmp_path / "here"
    here.mkdir()
    (here / "small.toml").write_text(PROCEDURE, encoding="utf-8")
    shipped = data_folder("handsfree") / "controllers" / "data" / "en" / "thistle.toml"
    (here / "mine.toml").write_text(shipped.read_text(encoding="utf-8"), encoding="utf-8")
    monkeypatch.chdir(here)
    own = ("--procedure", "small.toml", "--controller", "mine.toml")
    code, out = run("visit", "--job", str(JOB), "--typed", "--out", "visit", *own, typed="done\n")
    assert code == 0 and "Go on with" in out
    monkeypatch.chdir(tmp_path)
    code, out = run("resume", "here/visit", "--typed", typed="clear\n")
    assert code == 0 and "Start the learn cycle" in out

    (here / "small.toml").rename(here / "moved.toml")
    code, out = run("resume", "here/visit", "--typed", typed="done\n")
    assert code == 2
    assert str(here / "small.toml") in out and "put it back" in out
