"""The reasons against a sign-off, in plain words."""

from __future__ import annotations

import shutil

import pytest

from handsfree.journal import events as ev
from handsfree.journal.canonical_json import NO_HASH
from handsfree.journal.reader import CLIPS, read
from handsfree.office.changes import Amend, Decide, SignOff, Strike
from handsfree.office.sign_off_blockers import blockers, standing, to_confirm
from handsfree.visit_record.load import load_record

from ..journal.examples import OPENED, READING
from ..reports.at_desk import AtDesk


@pytest.fixture
def desk(waiting) -> AtDesk:
    return AtDesk(read(waiting))


def test_every_reading_and_every_matter_is_named(desk):
    seen = desk.record()
    found = blockers(seen)
    assert [each.kind for each in found].count("reading") == len(seen.standing)
    told = [each.what for each in found]
    assert (
        "right leaf: closing force 17 lbf, at most 15 lbf: not OK, and nothing is decided on it"
    ) in told
    assert "left leaf, leaf width (r1): 36 in is neither confirmed nor corrected" in told
    assert standing(seen) == "open"


def test_the_doubtful_come_first(desk):
    scores = [item.doubt.score for item in to_confirm(desk.record())]
    assert scores == sorted(scores, reverse=True) and scores[0] > scores[-1]


def test_a_corrected_reading_and_a_struck_one_want_no_confirmation(desk):
    before = len(to_confirm(desk.record()))
    desk.change(Amend(reading_id="r1", new="37", why="x"))
    desk.change(Strike(reading_id="r2", why="x"))
    left = {item.id for item in to_confirm(desk.record())}
    assert len(left) == before - 2 and not left & {"r1", "r2"}


def test_a_visit_that_is_not_finished_says_so():
    first = ev.Event(seq=1, at="2026-03-04T09:15:02.120Z", body=OPENED, prev=NO_HASH)
    desk = AtDesk((first,))
    desk.add(ev.ReadingAccepted(reading=READING))
    found = blockers(desk.record())
    assert found[0].kind == "visit" and "handsfree resume" in found[0].what
    assert standing(desk.record()) == "unfinished"


@pytest.mark.slow
def test_a_change_after_the_sign_off_ends_it(desk):
    desk.confirm_all()
    for matter in desk.record().open_items:
        desk.change(Decide(key=matter.key, decision="accepted", why="x"))
    desk.change(SignOff())
    assert standing(desk.record()) == "signed" and blockers(desk.record()) == ()
    desk.change(Amend(reading_id="r1", new="37", why="x"))
    assert standing(desk.record()) == "changed"


def test_a_broken_clip_is_a_broken_journal(waiting, tmp_path):
    folder = shutil.copytree(waiting, tmp_path / "visit")
    clip = sorted((folder / CLIPS).iterdir())[3]
    clip.write_bytes(clip.read_bytes()[:-1] + b"!")
    seen = load_record(folder)
    first = blockers(seen)[0]
    assert first.kind == "journal" and f"its clip {clip.name}" in first.what
    assert standing(seen) == "broken"
