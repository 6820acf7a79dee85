"""Which sound is stored, and what happens if a clip cannot be."""

from __future__ import annotations

from pathlib import Path

import pytest

from handsfree.journal import events as ev
from handsfree.journal.reader import verify
from handsfree.settings import KeepClips
from tests.visit.test_session import run, said

LINES = (
    "done",
    "clear",
    "done",
    "left leaf opening time six point two",
    "affirm",
    "note",
    "it rubs",
)


def with_clips(folder: Path, keep: KeepClips) -> list[str]:
    events = run(folder, *(said(text, 3.0 * n) for n, text in enumerate(LINES)), keep_clips=keep)
    assert verify(folder).whole
    return [e.body.text for e in events if isinstance(e.body, ev.Heard) and e.body.clip]


@pytest.mark.parametrize(
    ("keep", "kept"),
    [("all", list(LINES)), ("readings", [LINES[3], LINES[6]]), ("none", [])],
)
def test_the_setting_says_whose_sound_is_kept(
    keep: KeepClips, kept: list[str], tmp_path: Path
) -> None:
    assert with_clips(tmp_path, keep) == kept
    clips = tmp_path / "clips"
    assert len(list(clips.iterdir()) if clips.exists() else []) == len(kept)


def test_a_clip_that_cannot_be_kept_is_told_of_once_and_the_visit_goes_on(tmp_path: Path) -> None:
    (tmp_path / "clips").write_text("a file where the folder should be")
    events = run(tmp_path, *(said(text, 3.0 * n) for n, text in enumerate(LINES[:5])))
    heard = [e.body for e in events if isinstance(e.body, ev.Heard)]
    assert [body.text for body in heard] == list(LINES[:5])
    assert not any(body.clip for body in heard)
    (fault,) = [e.body for e in events if isinstance(e.body, ev.Fault)]
    assert fault.what == "clip_not_kept"
    assert "the sound could not be stored" in fault.detail
    assert any(isinstance(e.body, ev.ReadingAccepted) for e in events)
