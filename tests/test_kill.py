"""A visit by real sound that is killed at any instant still reaches the same end."""

from __future__ import annotations

import signal
import subprocess
import sys
import time
from pathlib import Path
from random import Random

import pytest

from handsfree.data import data_folder
from handsfree.journal import events as ev
from handsfree.journal.reader import read, verify
from handsfree.reports.summary import summarize

from .script import as_expected

FIXTURES = data_folder("audio_fixtures")


def handsfree(*arguments: str) -> subprocess.Popen[bytes]:
    return subprocess.Popen(
        [sys.executable, "-m", "handsfree", *arguments],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )


def closed(folder: Path) -> bool:
    """True if the visit came to its end; the last kill may come after it."""
    if not (folder / "journal.jsonl").exists():
        return False
    return any(isinstance(event.body, ev.VisitClosed) for event in read(folder))


def lines_of(folder: Path) -> int:
    """Number of lines in the journal."""
    journal = folder / "journal.jsonl"
    return journal.read_bytes().count(b"\n") if journal.exists() else 0


def killed_to_the_end(folder: Path, rng: Random) -> int:
    """Kills a visit repeatedly until it is closed; returns the number of kills."""
    kills = 0
    while not closed(folder):
        assert kills < 60
        begun = (folder / "journal.jsonl").exists() and read(folder)
        process = handsfree(*(["resume", str(folder)] if begun else ["demo", "--out", str(folder)]))
        # By what it wrote and not by the clock, so that a busy machine comes to the end as well.
        until = lines_of(folder) + rng.randrange(240)
        while process.poll() is None and lines_of(folder) < until:
            time.sleep(0.005)
        time.sleep(rng.uniform(0, 0.1))
        if process.poll() is None:
            process.send_signal(signal.SIGKILL)
            kills += 1
        code = process.wait()
        assert code in (0, -signal.SIGKILL)
        if code == 0:
            break  # the recording is over
    return kills


@pytest.mark.slow
def test_a_recorded_visit_killed_again_and_again_ends_with_every_reading(tmp_path):
    """The recording continues after the last utterance that is on disk: none is lost, none is heard
    twice.
    """
    folder = tmp_path / "visit"
    kills = killed_to_the_end(folder, Random(417))
    assert closed(folder)
    events = read(folder)
    assert kills > 1
    assert verify(folder).whole
    lines = summarize(events).lines
    found = [
        [str(part) for part in (line.subject, line.quantity, line.unit)]
        + [str(line.as_found[-1]), str(line.as_left[-1])]
        for line in lines
    ]
    assert as_expected(found)
    clips = [event.body.clip for event in events if isinstance(event.body, ev.Heard)]
    assert len(clips) == len(set(clips))
