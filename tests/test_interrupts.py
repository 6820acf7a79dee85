"""Ctrl-C while the program starts."""

from __future__ import annotations

import signal
import subprocess
import sys
from pathlib import Path

import pytest

from handsfree import interrupts

JOB = Path(__file__).parents[1] / "docs" / "examples" / "harbour-hall.job.toml"
# Ctrl-C comes in a finalizer while the command is imported: an exception raised there is lost.
IN_A_FINALIZER = """
import os, signal, sys

class Dies:
    def __del__(self):
        os.kill(os.getpid(), signal.SIGINT)
        for _ in range(1000):
            pass

class Finder:
    def find_spec(self, name, path, target=None):
        if name == "handsfree.cli.visit":
            Dies()

signal.signal(signal.SIGINT, signal.default_int_handler)
sys.meta_path.insert(0, Finder())
from handsfree.__main__ import main
main()
"""


@pytest.mark.slow
def test_an_interrupt_that_an_import_would_lose_ends_the_program(tmp_path: Path) -> None:
    visit = ["visit", "--typed", "--job", str(JOB), "--out", str(tmp_path / "visit")]
    done = subprocess.run(
        [sys.executable, "-c", IN_A_FINALIZER, *visit], stdin=subprocess.DEVNULL, check=False
    )
    assert done.returncode == -signal.SIGINT
    assert not (tmp_path / "visit").exists()


def test_it_is_as_usual_once_the_command_runs() -> None:
    before = signal.getsignal(signal.SIGINT)
    try:
        signal.signal(signal.SIGINT, signal.default_int_handler)
        interrupts.end_at_once()
        assert signal.getsignal(signal.SIGINT) is signal.SIG_DFL
        interrupts.raise_again()
        assert signal.getsignal(signal.SIGINT) is signal.default_int_handler
        signal.signal(signal.SIGINT, signal.SIG_IGN)  # as nohup leaves it
        interrupts.end_at_once()
        interrupts.raise_again()
        assert signal.getsignal(signal.SIGINT) is signal.SIG_IGN
    finally:
        signal.signal(signal.SIGINT, before)
