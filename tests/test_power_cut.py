"""A power cut in the middle of a write: the turn is completed when the visit is resumed."""

from __future__ import annotations

import shutil
from decimal import Decimal
from pathlib import Path

import pytest

from handsfree.clock import FakeClock
from handsfree.dialogue import state_machine
from handsfree.dialogue.state import Heard, Keep, Say
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
SAID_BACK = (
    "done", "clear", "done", "in order", "in order", "why", "left hand", "nice weather",
    "right hand", "six point two", "five point nine", "negative", "negative", "six point four",
    "affirm", "five point nine", "affirm", "note it drips", "skip", "no time", "stand by",
    "carry on", "five point eight", "affirm",
)  # fmt: skip
PARTS = (SMALL, LIMITS, LANGUAGE)


def turns(events: tuple[ev.Event, ...]) -> list[range]:
    """Lists the lines of each turn's write: what it accepted, what was heard, and what followed."""
    found = []
    for n, event in enumerate(events):
        if not isinstance(event.body, ev.Heard):
            continue
        begin, end = n, n + 1
        while not isinstance(events[begin - 1].body, ev.Heard | ev.Said):
            begin -= 1
        while end < len(events) and not isinstance(events[end].body, ev.Heard | ev.Said):
            end += 1
        found.append(range(begin, end))
    return found


def cut(whole: Path, into: Path, lines: int, rest: int, head: int) -> None:
    """Copies a journal with ``lines`` lines, ``rest`` bytes of the next one, and an old head."""
    events = read(whole)
    shutil.copytree(whole, into)
    content = (whole / "journal.jsonl").read_bytes().splitlines(keepends=True)
    torn = content[lines][:rest] if rest else b""
    (into / "journal.jsonl").write_bytes(b"".join(content[:lines]) + torn)
    write_head(into, Head(seq=head, sha256=sha256_of(canonical(events[head - 1]))))


@pytest.fixture(scope="module", params=["every", "doubtful"])
def whole(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("whole") / "visit"
    lines = LINES if request.param == "every" else SAID_BACK
    run(folder, *(Utterance(text) for text in lines), confirm=request.param)
    return folder


def heard_in(events: tuple[ev.Event, ...], turn: range) -> int:
    """Returns the line of what was heard in a turn; earlier lines were accepted by it."""
    return next(n for n in turn if isinstance(events[n].body, ev.Heard))


def completed(folder: Path) -> tuple[ev.Event, ...]:
    """Returns the events of a visit that is resumed."""
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
                heard = heard_in(events, turn)
                stop = turn.stop if lines > heard else heard
                assert kept == [event.body for event in events[:stop]]
                state = state_of(now, *PARTS, folder)
                written = state.progress if state.echo is None else state.echo.before
                assert written.job == job_of(now)
                count += rest > 0
    assert count > 20


def test_what_was_said_back_is_held_by_the_visit_that_resumes(tmp_path: Path) -> None:
    said = SAID_BACK[: SAID_BACK.index("negative")]
    events = run(tmp_path / "v", *map(Utterance, said), confirm="doubtful")
    state = state_of(events, *PARTS, tmp_path)
    assert state.echo is not None and state.echo.question.proposed[0].value == Decimal("5.9")
    assert [r.value for r in state.echo.before.job.readings] == [Decimal("6.2")]
    _, replies = state_machine.resume(state, 0.0)
    spoken = [reply.text for reply in replies if isinstance(reply, Say)]
    assert spoken[1:] == [
        "Left leaf, hold open time, five point nine seconds.",
        "Time the right leaf to backcheck and say the opening time.",
        "Eighty degrees is thirty five and a half inches at the latch edge of the right leaf, "
        "straight out from the frame.",
    ]
    for words, taken in (("why", ["6.2"]), ("six point one", ["6.2", "5.9"])):
        heard = Heard(text=words, meaning=LANGUAGE.parse(words))
        _, replies = state_machine.answer(state, heard, 0.0)
        kept = [reply.body for reply in replies if isinstance(reply, Keep)]
        new = [str(b.reading.value) for b in kept if isinstance(b, ev.ReadingAccepted)]
        assert ["6.2", *new] == taken


@pytest.mark.slow
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
    """Goes through the commands, to the end of a whole visit."""
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
