"""A visit killed at any instant goes on to the same end, on real sound."""

from __future__ import annotations

import signal
import subprocess
import sys
from pathlib import Path
from random import Random

import pytest

from handsfree.data import data_folder
from handsfree.journal import events as ev
from handsfree.journal.reader import read, verify
from handsfree.review.summary import summarise

from .script import as_expected

FIXTURES = data_folder("audio_fixtures")


def handsfree(*arguments: str) -> subprocess.Popen[bytes]:
    return subprocess.Popen(
        [sys.executable, "-m", "handsfree", *arguments],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )


def closed(folder: Path) -> bool:
    """Whether the visit came to its end; the last kill may fall after it."""
    if not (folder / "journal.jsonl").exists():
        return False
    return any(isinstance(event.body, ev.VisitClosed) for event in read(folder))


def killed_to_the_end(folder: Path, rng: Random) -> int:
    """Kills a visit again and again until its recording is over; how often it was killed.

    A word that is cut out of the recording a little otherwise after a break may be missed by
    the recogniser, and a recording says nothing twice: then the visit stays open.
    """
    kills = 0
    while not closed(folder):
        assert kills < 60
        begun = (folder / "journal.jsonl").exists() and read(folder)
        process = handsfree(*(["resume", str(folder)] if begun else ["demo", "--out", str(folder)]))
        try:
            assert process.wait(timeout=rng.uniform(2, 8)) == 0
            break
        except subprocess.TimeoutExpired:
            process.send_signal(signal.SIGKILL)
            process.wait()
            kills += 1
    return kills


@pytest.mark.slow
def test_a_recorded_visit_killed_again_and_again_ends_with_every_reading(tmp_path):
    """The recording goes on after the last utterance that is on disk: none is lost, none twice."""
    rng = Random(417)
    for nth in range(4):
        folder = tmp_path / f"visit-{nth}"
        kills = killed_to_the_end(folder, rng)
        if closed(folder):
            break
    assert closed(folder)
    events = read(folder)
    assert kills > 1
    assert verify(folder).whole
    lines = summarise(events).lines
    found = [
        [str(part) for part in (line.subject, line.quantity, line.unit)]
        + [str(line.as_found[-1]), str(line.as_left[-1])]
        for line in lines
    ]
    assert as_expected(found)
    clips = [event.body.clip for event in events if isinstance(event.body, ev.Heard)]
    assert len(clips) == len(set(clips))
