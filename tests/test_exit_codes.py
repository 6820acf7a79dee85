"""The codes are those of the docs, of shells and of POSIX."""

from __future__ import annotations

import re
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from handsfree.cli import main
from handsfree.errors import HandsfreeError
from handsfree.exit_codes import SIGNAL_BASE, ExitCode

DOCS = (Path(__file__).parents[1] / "docs" / "commands.md").read_text(encoding="utf-8")


def test_the_table_of_the_docs_has_every_code_and_no_other():
    listed = {int(code) for code in re.findall(r"^\| (\d+) \|", DOCS, re.MULTILINE)}
    assert listed == {int(code) for code in ExitCode}


def test_signals_have_the_numbers_that_shells_give_them():
    # POSIX.1, 2.8.2 Exit Status for Commands: more than 128 (seen); 128 + n is common practice.
    assert SIGNAL_BASE + signal.SIGINT == ExitCode.INTERRUPTED
    assert SIGNAL_BASE + signal.SIGPIPE == ExitCode.OUTPUT_CLOSED
    assert SIGNAL_BASE + signal.SIGTERM == ExitCode.TERMINATED


def test_an_error_of_the_users_is_bad_input():
    assert HandsfreeError("x").exit_code == ExitCode.BAD_INPUT


def test_ctrl_c_is_no_failing_door(monkeypatch):
    def interrupted(name):
        raise KeyboardInterrupt

    monkeypatch.setattr("handsfree.cli.limits.load_limits", interrupted)
    done = CliRunner().invoke(main, ["limits"])
    assert done.exit_code == ExitCode.INTERRUPTED


@pytest.mark.slow
def test_a_reader_that_had_enough_ends_the_command_with_its_code():
    reads_one_line = subprocess.run(
        f"{sys.executable} -m handsfree limits | head -1; echo ${{PIPESTATUS[0]}}",
        shell=True,
        executable="/bin/bash",
        capture_output=True,
        text=True,
        check=True,
    )
    assert reads_one_line.stdout.splitlines()[-1] == str(int(ExitCode.OUTPUT_CLOSED))


@pytest.mark.slow
def test_a_message_that_nobody_can_read_leaves_the_exit_code_as_it_is():
    command = f"{sys.executable} -m handsfree visit --job missing.toml"
    unread = subprocess.run(
        f"{command} 2>&1 | true; echo ${{PIPESTATUS[0]}}",
        shell=True,
        executable="/bin/bash",
        capture_output=True,
        text=True,
        check=True,
    )
    assert unread.stdout.splitlines()[-1] == str(int(ExitCode.BAD_INPUT))
