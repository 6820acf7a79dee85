import os
import resource
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest

from handsfree.errors import JournalError
from handsfree.journal.clip_files import store_clip
from handsfree.journal.events import CarriedOn, Said, TailRecovered
from handsfree.journal.reader import read, verify
from handsfree.journal.writer import Journal
from tests.journal.examples import AT, BODIES, OPENED


def test_what_was_appended_is_read_back(folder: Path) -> None:
    events = read(folder)
    assert [event.body for event in events] == list(BODIES)
    assert [event.seq for event in events] == [1, 2, 3, 4, 5]
    assert events[0].at == "2026-03-04T09:15:02.120Z"


def test_a_reopened_journal_goes_on_where_it_ended(folder: Path) -> None:
    with Journal.open(folder, AT) as journal:
        assert journal.next_seq == 6
        assert journal.append(CarriedOn(), AT).seq == 6
        assert journal.head == verify(folder).head
    assert verify(folder).lines == 6


def test_a_second_writer_is_refused_until_the_first_has_ended(folder: Path) -> None:
    first = Journal.open(folder, AT)
    with pytest.raises(JournalError, match="another handsfree is writing"):
        Journal.open(folder, AT)
    first.close()
    Journal.open(folder, AT).close()


def test_a_folder_that_holds_a_visit_is_not_written_over(folder: Path) -> None:
    before = (folder / "journal.jsonl").read_bytes()
    with pytest.raises(JournalError, match="already holds a visit"):
        Journal.create(folder)
    assert (folder / "journal.jsonl").read_bytes() == before


def test_a_kill_before_the_first_event_leaves_a_place_to_begin_in(tmp_path: Path) -> None:
    Journal.create(tmp_path).close()
    with Journal.create(tmp_path) as journal:
        assert journal.append(BODIES[0], AT).seq == 1
    assert verify(tmp_path).whole


def test_no_journal_is_no_visit_and_leaves_nothing_behind(tmp_path: Path) -> None:
    with pytest.raises(JournalError, match="no journal here"):
        Journal.open(tmp_path, AT)
    assert list(tmp_path.iterdir()) == []


def test_a_place_that_cannot_be_a_folder(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(JournalError, match="cannot store a visit here"):
        Journal.create(tmp_path / "file")


@pytest.mark.slow
@pytest.mark.parametrize("head_written", [False, True], ids=["head before", "head after"])
def test_a_line_torn_at_any_byte_is_set_aside_and_no_other_is_lost(
    folder: Path, tmp_path: Path, head_written: bool
) -> None:
    before = (folder / "journal.head").read_bytes()
    with Journal.open(folder, AT) as journal:
        journal.append(Said(text="Grüße", role="status", aloud=False, seconds="0"), AT)
    if not head_written:
        (folder / "journal.head").write_bytes(before)
    content = (folder / "journal.jsonl").read_bytes()
    last = content[:-1].rfind(b"\n") + 1
    for cut in range(last + 1, len(content)):
        torn = tmp_path / f"torn{cut}"
        shutil.copytree(folder, torn)
        (torn / "journal.jsonl").write_bytes(content[:cut])
        assert verify(torn).broken.line == 6
        Journal.open(torn, AT).close()
        events = read(torn)
        assert [event.body for event in events[:5]] == list(BODIES)
        assert events[5].body == TailRecovered(kept_as="journal.torn-1", bytes=cut - last)
        assert (torn / "journal.torn-1").read_bytes() == content[last:cut]
        assert len(events) == 6
        assert verify(torn).whole
        assert verify(torn).recovered == 1
        shutil.rmtree(torn)


def test_a_second_torn_line_gets_its_own_file(folder: Path) -> None:
    for _ in range(2):
        with (folder / "journal.jsonl").open("ab") as file:
            file.write(b'{"at"')
        Journal.open(folder, AT).close()
    kept = [e.body.kept_as for e in read(folder) if isinstance(e.body, TailRecovered)]
    assert kept == ["journal.torn-1", "journal.torn-2"]


def test_a_torn_line_whose_record_was_lost_to_a_crash_is_recorded_once(folder: Path) -> None:
    (folder / "journal.torn-1").write_bytes(b'{"at"')
    Journal.open(folder, AT).close()
    Journal.open(folder, AT).close()
    assert sum(isinstance(e.body, TailRecovered) for e in read(folder)) == 1


def test_any_other_break_is_not_written_on(folder: Path) -> None:
    path = folder / "journal.jsonl"
    path.write_bytes(path.read_bytes().replace(b'"6.20"', b'"6.30"'))
    before = {file: file.read_bytes() for file in folder.iterdir()}
    with pytest.raises(JournalError) as caught:
        Journal.open(folder, AT)
    assert caught.value.line == 4
    assert {file: file.read_bytes() for file in folder.iterdir()} == before


def test_a_full_disk_is_one_clear_error_and_the_journal_stays_whole(folder: Path) -> None:
    journal = Journal.open(folder, AT)
    size = (folder / "journal.jsonl").stat().st_size
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size + 50, hard))  # a line needs more than that
    try:
        with pytest.raises(JournalError, match=r"event 6 could not be written.*resume"):
            journal.append(CarriedOn(), AT)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
    assert verify(folder).whole
    assert verify(folder).lines == 5
    with pytest.raises(JournalError, match="closed"):
        journal.append(CarriedOn(), AT)
    Journal.open(folder, AT).close()


APPENDS = """
import sys
from datetime import UTC, datetime
from pathlib import Path
from handsfree.journal.events import StepEntered
from handsfree.journal.writer import Journal

folder = Path(sys.argv[1])
at = datetime(2026, 3, 4, tzinfo=UTC)
with Journal.open(folder, at) as journal:
    while True:
        key = f"{journal.next_seq}-" + "x" * 20000
        print(journal.append(StepEntered(key=key), at).seq, flush=True)
"""


@pytest.mark.slow
def test_a_kill_at_any_moment_loses_nothing_that_was_acknowledged(folder: Path) -> None:
    for kill in range(20):
        with subprocess.Popen(
            [sys.executable, "-c", APPENDS, str(folder)], stdout=subprocess.PIPE
        ) as writer:
            assert writer.stdout is not None
            acknowledged = [writer.stdout.readline()]
            time.sleep(0.0037 * kill)
            os.kill(writer.pid, signal.SIGKILL)
            acknowledged += writer.stdout.readlines()
        last = int(acknowledged[-1])
        Journal.open(folder, AT).close()
        events = read(folder)
        assert verify(folder).whole
        assert len(events) >= last
        assert events[last - 1].body.key.startswith(f"{last}-")


def test_half_of_a_first_line_is_set_aside_and_told_of_when_the_visit_goes_on(
    tmp_path: Path,
) -> None:
    with Journal.create(tmp_path) as journal:
        journal.append(OPENED, AT)
    line = (tmp_path / "journal.jsonl").read_bytes()
    for length in (1, len(line) // 2, len(line) - 1):
        folder = tmp_path / str(length)
        folder.mkdir()
        (folder / "journal.jsonl").write_bytes(line[:length])
        with Journal.create(folder) as journal:
            journal.append(OPENED, AT)
        assert (folder / "journal.torn-1").read_bytes() == line[:length]
        with Journal.open(folder, AT):
            pass
        assert [event.body.kind for event in read(folder)] == ["visit_opened", "tail_recovered"]


def test_a_whole_visit_is_never_begun_again(tmp_path: Path) -> None:
    with Journal.create(tmp_path) as journal:
        journal.append(OPENED, AT)
    with pytest.raises(JournalError, match="already holds a visit"):
        Journal.create(tmp_path)


@pytest.mark.skipif(os.name != "posix", reason="modes of POSIX")
def test_a_visit_is_its_owners_alone(tmp_path: Path) -> None:
    before = os.umask(0o022)
    try:
        folder = tmp_path / "visit"
        with Journal.create(folder) as journal:
            journal.append(BODIES[0], AT)
            store_clip(folder, 2, np.zeros(1600, np.int16))
    finally:
        os.umask(before)
    for path in (folder, folder / "clips"):
        assert path.stat().st_mode & 0o777 == 0o700
    for path in (folder / "journal.jsonl", folder / "journal.head", folder / "clips/000002.flac"):
        assert path.stat().st_mode & 0o777 == 0o600
