"""A power cut in the middle of a write: the turn is whole again when the visit goes on."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from handsfree.clock import FakeClock
from handsfree.journal import events as ev
from handsfree.journal.canonical_json import canonical, sha256_of
from handsfree.journal.head_file import Head, write_head
from handsfree.journal.reader import read, verify
from handsfree.journal.writer import Journal
from handsfree.recognition.port import Utterance
from handsfree.visit.resume import state_of, unwritten_events
from handsfree.visit_record.progress import job_of
from tests.cli.test_visit import JOB, as_expected, readings_of
from tests.cli.test_visit import LINES as SCRIPT
from tests.cli.test_visit import run as handsfree
from tests.visit.test_session import LANGUAGE, LIMITS, SMALL, run

LINES = (
    "done", "clear", "done", "in order", "affirm", "in order", "affirm", "left hand", "affirm",
    "right hand", "affirm", "six point two", "affirm", "withdraw that", "affirm", "skip",
    "no time", "note", "the closer drips", "stand by", "carry on", "brief",
)  # fmt: skip
PARTS = (SMALL, LIMITS, LANGUAGE)


def turns(events: tuple[ev.Event, ...]) -> list[range]:
    """The lines of each turn's write: what was heard, and what it led to."""
    begun = [n for n, event in enumerate(events) if isinstance(event.body, ev.Heard)]
    ends = []
    for n in begun:
        end = n + 1
        while end < len(events) and not isinstance(events[end].body, ev.Heard | ev.Said):
            end += 1
        ends.append(end)
    return [range(n, end) for n, end in zip(begun, ends, strict=True)]


def cut(whole: Path, into: Path, lines: int, rest: int, head: int) -> None:
    """A copy of a journal with so many lines, so many bytes of the next, an old head."""
    events = read(whole)
    shutil.copytree(whole, into)
    content = (whole / "journal.jsonl").read_bytes().splitlines(keepends=True)
    torn = content[lines][:rest] if rest else b""
    (into / "journal.jsonl").write_bytes(b"".join(content[:lines]) + torn)
    write_head(into, Head(seq=head, sha256=sha256_of(canonical(events[head - 1]))))


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("whole") / "visit"
    run(folder, *(Utterance(text) for text in LINES))
    return folder


def completed(folder: Path) -> tuple[ev.Event, ...]:
    """The events of a visit that goes on."""
    with Journal.open(folder, FakeClock().utc()) as journal:
        missing = unwritten_events(read(folder), *PARTS, folder)
        if missing:
            journal.append_all(missing, FakeClock().utc())
    return read(folder)


@pytest.mark.slow
def test_a_write_cut_at_any_line_is_a_whole_turn_again(whole: Path, tmp_path: Path) -> None:
    events = read(whole)
    count = 0
    for turn in turns(events):
        for lines in range(turn.start + 1, turn.stop + 1):
            for rest in (0, 40) if lines < turn.stop else (0,):
                folder = tmp_path / f"cut-{lines}-{rest}"
                cut(whole, folder, lines, rest, head=turn.start)
                now = completed(folder)
                assert verify(folder).whole
                kept = [e.body for e in now if not isinstance(e.body, ev.TailRecovered)]
                assert kept == [event.body for event in events[: turn.stop]]
                state = state_of(now, *PARTS, folder)
                assert state.progress.job == job_of(now)
                count += rest > 0
    assert count > 20


def test_what_was_not_even_heard_on_disk_is_not_made_up(whole: Path, tmp_path: Path) -> None:
    events = read(whole)
    for nth, turn in enumerate(turns(events)):
        folder = tmp_path / f"cut-{nth}"
        cut(whole, folder, turn.start, 40, head=turn.start)
        kept = [e.body for e in completed(folder) if not isinstance(e.body, ev.TailRecovered)]
        assert kept == [event.body for event in events[: turn.start]]


def test_a_visit_that_has_spoken_since_has_nothing_missing(whole: Path) -> None:
    events = read(whole)
    for nth, event in enumerate(events):
        if isinstance(event.body, ev.Said):
            assert unwritten_events(events[: nth + 1], *PARTS, whole) == ()


@pytest.mark.slow
def test_a_reading_torn_off_after_its_affirm_is_in_the_job_at_the_end(tmp_path: Path) -> None:
    """Through the commands, to the end of a whole visit."""
    folder, torn = tmp_path / "visit", tmp_path / "torn"
    asked = ("visit", "--job", str(JOB), "--typed", "--out", str(folder))
    assert handsfree(*asked, typed="\n".join(SCRIPT))[0] == 0
    events = read(folder)
    turn = next(
        turn
        for turn in turns(events)
        if any(isinstance(events[n].body, ev.ReadingAccepted) for n in turn)
    )
    cut(folder, torn, turn.start + 1, 25, head=turn.start)
    said = sum(isinstance(e.body, ev.Heard) for e in events[: turn.start + 1])
    assert handsfree("resume", str(torn), typed="\n".join(SCRIPT[said:]))[0] == 0
    assert as_expected(readings_of(torn))
    assert readings_of(torn) == readings_of(folder)
    assert verify(torn).whole
