"""A visit that gets a signal, a full disk, or a second writer."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

import pytest

from handsfree.journal import events as ev
from handsfree.journal.reader import read, verify
from tests.bench.signals import signal_repeatedly

ROOT = Path(__file__).parents[2]
JOB = ROOT / "docs" / "examples" / "harbour-hall.job.toml"


class Typed:
    """handsfree visit or resume with typed lines, in a separate process."""

    def __init__(self, *words: str | Path) -> None:
        self.process = subprocess.Popen(
            [sys.executable, "-m", "handsfree", *words],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            cwd=ROOT,
        )

    def type(self, line: str) -> None:
        assert self.process.stdin is not None
        self.process.stdin.write(line + "\n")
        self.process.stdin.flush()

    def end(self) -> tuple[int, str]:
        """The exit code and the stderr."""
        _, complaint = self.process.communicate(timeout=60)
        return self.process.returncode, complaint


def until(folder: Path, kind: type, count: int = 1) -> None:
    """Waits for events of a kind."""
    for _ in range(600):
        if (folder / "journal.jsonl").exists():
            there = [event for event in read(folder) if isinstance(event.body, kind)]
            if len(there) >= count:
                return
        time.sleep(0.05)
    raise AssertionError(f"no {kind.__name__} in {folder}")


@pytest.mark.slow
@pytest.mark.parametrize("told", [signal.SIGTERM, signal.SIGHUP, signal.SIGINT])
def test_a_visit_that_is_told_to_end_says_how_to_go_on_and_goes_on_there(
    told: signal.Signals, tmp_path: Path
) -> None:
    folder = tmp_path / "visit"
    visit = Typed("visit", "--job", JOB, "--typed", "--out", folder)
    visit.type("done")
    until(folder, ev.StepEnded)
    visit.process.send_signal(told)
    code, complaint = visit.end()
    assert code == 128 + told
    assert f"continue with: handsfree resume {folder}" in complaint
    assert "Traceback" not in complaint
    last = read(folder)[-1].body
    assert last == ev.Fault(what="terminated", detail=f"by {told.name}")
    assert verify(folder).whole
    at = [e.body.key for e in read(folder) if isinstance(e.body, ev.StepEntered)][-1]
    again = Typed("resume", folder)
    code, _ = again.end()  # its input has ended at once
    assert code == 0
    entered = [e.body.key for e in read(folder) if isinstance(e.body, ev.StepEntered)]
    assert entered[-1] == at


@pytest.mark.slow
def test_a_second_program_on_the_same_visit_is_one_clear_line(tmp_path: Path) -> None:
    folder = tmp_path / "visit"
    first = Typed("visit", "--job", JOB, "--typed", "--out", folder)
    until(folder, ev.Said)
    code, complaint = Typed("resume", folder).end()
    assert code == 2
    assert "another handsfree is writing this visit" in complaint
    assert complaint.count("\n") == 1
    first.end()
    assert verify(folder).whole


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A disk of 300 kB."""
    folder = tmp_path / "disk"
    folder.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", "size=300k", "tmpfs", str(folder)]
    if subprocess.run(mount, capture_output=True).returncode:
        pytest.skip("a small disk cannot be mounted here (it takes root)")
    yield folder
    subprocess.run(["umount", "-l", str(folder)], check=True)


@pytest.mark.slow
def test_a_full_disk_is_one_clear_line_and_the_visit_goes_on_when_there_is_room(
    small_disk: Path,
) -> None:
    folder = small_disk / "visit"
    visit = Typed("visit", "--job", JOB, "--typed", "--out", folder)
    visit.type("done")
    until(folder, ev.StepEnded)
    with (small_disk / "filler").open("wb", buffering=0) as filler, suppress(OSError):
        for _ in range(300):
            os.write(filler.fileno(), os.urandom(1024))
    for _ in range(40):
        try:
            visit.type("say again")
        except OSError:
            break
        if visit.process.poll() is not None:
            break
        time.sleep(0.05)
    code, complaint = visit.end()
    assert code == 2
    assert "could not be written: no space left on device" in complaint
    assert f"handsfree resume {folder}" in complaint
    before = [e for e in read(folder) if isinstance(e.body, ev.StepEnded)]
    (small_disk / "filler").unlink()
    assert Typed("resume", folder).end()[0] == 0
    assert verify(folder).whole
    assert [e for e in read(folder) if isinstance(e.body, ev.StepEnded)] == before


SWALLOWED = """
import ctypes, os, signal, sys, time
from pathlib import Path
from handsfree.cli.shutdown import EndRequested, ending_on_signal

call = ctypes.CFUNCTYPE(None)(lambda: os.kill(os.getpid(), signal.SIGTERM) or time.sleep(0))
try:
    with ending_on_signal(Path(sys.argv[1])):
        call()  # what its handler raises is lost here
        print("lost", flush=True)
        for _ in range(400):
            time.sleep(0.05)
except EndRequested as told:
    sys.exit(told.exit_code)
"""


@pytest.mark.slow
def test_a_signal_whose_exception_was_swallowed_in_a_callback_arrives_all_the_same(
    tmp_path: Path,
) -> None:
    done = subprocess.run(
        [sys.executable, "-W", "ignore", "-c", SWALLOWED, tmp_path / "none"],
        capture_output=True,
        text=True,
        timeout=15,
    )
    assert (done.returncode, done.stdout) == (128 + signal.SIGTERM, "lost\n")


TWICE = """
import os, signal, sys, time
from pathlib import Path
from handsfree.cli.shutdown import ending_on_signal

with ending_on_signal(Path(sys.argv[1])):
    try:
        os.kill(os.getpid(), signal.SIGINT)
        time.sleep(1)
    finally:
        print("closing", flush=True)
        os.kill(os.getpid(), signal.SIGTERM)
        time.sleep(60)
"""


@pytest.mark.slow
def test_a_second_signal_ends_at_once_whatever_is_being_closed(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-c", TWICE, tmp_path / "none"],
        capture_output=True,
        text=True,
        timeout=15,
    )
    assert (done.returncode, done.stdout) == (128 + signal.SIGTERM, "closing\n")


LATE = """
import os, signal, sys
from pathlib import Path
from handsfree.cli.shutdown import EndRequested, ending_on_signal

try:
    with ending_on_signal(Path(sys.argv[1])):
        os.kill(os.getpid(), signal.SIGINT)
except EndRequested:
    print("told", flush=True)
    os.kill(os.getpid(), signal.SIGINT)
    print("goes on", flush=True)
"""


@pytest.mark.slow
def test_a_second_signal_on_the_way_out_ends_at_once_and_without_a_traceback(
    tmp_path: Path,
) -> None:
    done = subprocess.run(
        [sys.executable, "-c", LATE, tmp_path / "none"],
        capture_output=True,
        text=True,
        timeout=15,
    )
    assert (done.returncode, done.stdout, done.stderr) == (-signal.SIGINT, "told\n", "")


@pytest.mark.slow
def test_no_signal_is_lost_while_sound_devices_are_looked_for(tmp_path: Path) -> None:
    count = signal_repeatedly(tmp_path, signals=25, seed=1, longest_s=2.0)
    assert sum(count.values()) == 25
