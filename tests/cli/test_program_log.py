"""handsfree --log FILE: its content, and what it must not contain."""

from __future__ import annotations

import logging
import re
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from handsfree.cli import main
from handsfree.cli.program_log import logging_to

ROOT = Path(__file__).parents[2]
JOB = ROOT / "docs" / "examples" / "harbour-hall.job.toml"
LINE = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z (INFO|WARNING|ERROR) [\w.]+: .+")


def run(log: Path, *arguments: str) -> tuple[int, list[str]]:
    code = CliRunner().invoke(main, ["--log", str(log), *arguments]).exit_code
    return code, log.read_text(encoding="utf-8").splitlines()


def test_it_names_version_command_and_exit_code(tmp_path):
    code, lines = run(tmp_path / "log", "check", "--width", "36in", "--opening", "1")
    assert code == 1
    assert all(LINE.fullmatch(line) for line in lines)
    assert "handsfree 0" in lines[0]
    assert [line.split(": ")[1] for line in lines[1:]] == [
        "command check",
        "ended with exit code 1",
    ]


def test_a_second_run_is_appended(tmp_path):
    run(tmp_path / "log", "limits", "--json")
    _, lines = run(tmp_path / "log", "limits", "--json")
    assert sum("ended with exit code 0" in line for line in lines) == 2


def test_an_error_is_noted_as_it_was_printed(tmp_path):
    code, lines = run(tmp_path / "log", "verify", str(tmp_path / "nowhere"))
    assert code == 2
    assert "ERROR" in lines[-1] and "ended with exit code 2: " in lines[-1]
    assert str(tmp_path / "nowhere") in lines[-1]


def test_a_wrong_option_is_noted(tmp_path):
    code, lines = run(tmp_path / "log", "limits", "--nonsense")
    assert code == 2
    assert "exit code 2: No such option" in lines[-1]


def test_an_error_of_the_program_leaves_its_traceback(tmp_path):
    with pytest.raises(RuntimeError), logging_to(tmp_path / "log"):
        raise RuntimeError("a bug")
    assert "Traceback" in (tmp_path / "log").read_text(encoding="utf-8")


def test_a_log_that_cannot_be_written_ends_the_command_in_one_line(tmp_path):
    done = CliRunner().invoke(main, ["--log", str(tmp_path / "no" / "log"), "limits"])
    assert done.exit_code == 2
    assert "the log cannot be written" in done.output and "--log" in done.output


def test_a_newline_in_a_name_begins_no_line_of_the_log(tmp_path):
    with logging_to(tmp_path / "log"):
        logging.getLogger("handsfree").info("a\n2026-01-01T00:00:00.000Z INFO forged: b")
    lines = (tmp_path / "log").read_text(encoding="utf-8").splitlines()
    assert not any(line.startswith("2026-01-01") for line in lines)


def test_nothing_is_logged_after_it_ended(tmp_path):
    with logging_to(tmp_path / "log"):
        pass
    logging.getLogger("handsfree").warning("late")
    assert "late" not in (tmp_path / "log").read_text(encoding="utf-8")


@pytest.mark.slow
def test_a_visit_leaves_its_events_and_no_word_that_was_said(tmp_path):
    log = tmp_path / "log"
    said = "done\nclear\nnote zebra pivot\nstop\naffirm\n"
    subprocess.run(
        [
            *(sys.executable, "-m", "handsfree", "--log", str(log), "visit", "--typed"),
            *("--job", str(JOB), "--out", str(tmp_path / "visit")),
        ],
        input=said,
        capture_output=True,
        text=True,
        check=False,
    )
    text = log.read_text(encoding="utf-8")
    assert "event 1: visit_opened" in text and ": heard" in text
    job = JOB.read_text(encoding="utf-8")
    technician = re.search(r'technician = "([^"]+)"', job)
    assert technician is not None
    for private in ("zebra", "clear", technician[1]):
        assert private not in text
