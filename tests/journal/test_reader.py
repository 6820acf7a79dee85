from pathlib import Path

import numpy as np
import pytest
import soundfile

from handsfree.errors import JournalError
from handsfree.journal.clip_files import store_clip
from handsfree.journal.events import Heard
from handsfree.journal.reader import read, verify
from handsfree.journal.writer import Journal
from tests.journal.examples import AT

SOUND = (1000 * np.sin(np.arange(1600) / 5)).astype(np.int16)


@pytest.fixture
def with_clip(folder: Path) -> Path:
    with Journal.open(folder, AT) as journal:
        name, sha256 = store_clip(folder, journal.next_seq, SOUND)
        journal.append(Heard(text="yes", meaning=None, clip=name, clip_sha256=sha256), AT)
    return folder


def test_a_clip_is_named_by_its_event_and_holds_the_sound(with_clip: Path) -> None:
    samples, rate = soundfile.read(with_clip / "clips" / "000006.flac", dtype="int16")
    assert rate == 16000
    assert (samples == SOUND).all()
    found = verify(with_clip)
    assert found.whole
    assert found.clips == 1


def test_a_changed_clip_breaks_the_line_that_names_it(with_clip: Path) -> None:
    path = with_clip / "clips" / "000006.flac"
    content = bytearray(path.read_bytes())
    content[-1] ^= 1
    path.write_bytes(content)
    broken = verify(with_clip).broken
    assert broken is not None
    assert (broken.line, broken.reason) == (
        6,
        "its clip 000006.flac is not the one that was stored",
    )


def test_a_missing_clip_breaks_the_line_that_names_it(with_clip: Path) -> None:
    (with_clip / "clips" / "000006.flac").unlink()
    broken = verify(with_clip).broken
    assert broken is not None
    assert (broken.line, broken.reason) == (6, "its clip 000006.flac is missing")


def test_an_unfinished_last_line_is_left_out_of_what_is_read(folder: Path) -> None:
    with (folder / "journal.jsonl").open("ab") as file:
        file.write(b'{"at":"2026')
    assert len(read(folder)) == 5
    found = verify(folder)
    assert not found.whole
    assert found.broken is not None
    assert (found.broken.line, found.broken.reason) == (6, "the line is unfinished (11 bytes)")


def test_a_broken_journal_is_not_read(folder: Path) -> None:
    path = folder / "journal.jsonl"
    path.write_bytes(path.read_bytes().replace(b"motor one", b"motor two"))
    with pytest.raises(JournalError, match="line 5: "):
        read(folder)


def test_no_journal(tmp_path: Path) -> None:
    with pytest.raises(JournalError, match="no journal here"):
        verify(tmp_path)
