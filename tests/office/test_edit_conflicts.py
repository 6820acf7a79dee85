"""Two people at one visit: changes that conflict, and changes that do not."""

from __future__ import annotations

import pytest

from handsfree.journal.canonical_json import NO_HASH
from handsfree.journal.reader import read
from handsfree.office.changes import (
    Amend,
    AmendFact,
    AmendMeaning,
    AmendNote,
    Confirm,
    Decide,
    SignOff,
    Strike,
)
from handsfree.office.edit_conflicts import clashing, since

from ..reports.at_desk import AtDesk

CLOSING = "right leaf/closing force"


@pytest.fixture
def desk(waiting) -> AtDesk:
    return AtDesk(read(waiting))


def later(desk: AtDesk, *changes):
    """The events of these changes since the form was made."""
    head = desk.head
    for change in changes:
        desk.change(change)
    return since(desk.events, desk.head, head)


def test_nothing_happened_since_the_last_line(desk):
    assert since(desk.events, desk.head, desk.head) == ()


def test_every_line_but_the_first_has_a_head_before_it(desk):
    assert len(since(desk.events, desk.head, desk.events[10].prev)) == len(desk.events) - 10
    assert len(since(desk.events, desk.head, NO_HASH)) == len(desk.events)


def test_a_head_of_another_journal_is_known_as_such(desk):
    assert since(desk.events, desk.head, "f" * 64) is None
    assert since(desk.events, desk.head, "") is None


@pytest.mark.parametrize(
    ("theirs", "mine", "clashes"),
    [
        (Confirm(reading_id="r1"), Confirm(reading_id="r2"), False),
        (Confirm(reading_id="r1"), Amend(reading_id="r1", new="3", why="x"), True),
        (Amend(reading_id="r1", new="37", why="x"), Confirm(reading_id="r1"), True),
        (Strike(reading_id="r1", why="x"), Strike(reading_id="r1", why="x"), True),
        (
            Amend(reading_id="r41", new="16", why="x"),
            Decide(key=CLOSING, decision="accepted", why="x"),
            True,
        ),
        (
            Amend(reading_id="r31", new="4.5", why="x"),
            Decide(key=CLOSING, decision="accepted", why="x"),
            False,
        ),
        (Confirm(reading_id="r41"), Decide(key=CLOSING, decision="accepted", why="x"), False),
        (
            AmendFact(subject="left leaf", name="arm", new="not_in_order", why="x"),
            Decide(key="left leaf/arm", decision="accepted", why="x"),
            True,
        ),
        (Confirm(reading_id="r1"), SignOff(), True),
        (AmendNote(seq=81, new="x", why="x"), AmendNote(seq=81, new="y", why="x"), True),
        (AmendNote(seq=81, new="x", why="x"), AmendMeaning(seq=80, new="y", why="x"), False),
    ],
)
def test_only_the_same_thing_clashes(desk, theirs, mine, clashes):
    found = clashing(later(desk, theirs), mine)
    assert bool(found) == clashes


def test_a_sign_off_in_between_concerns_every_change(desk):
    desk.confirm_all()
    for matter in desk.record().open_items:
        desk.change(Decide(key=matter.key, decision="accepted", why="x"))
    happened = later(desk, SignOff())
    assert clashing(happened, Confirm(reading_id="r1")) == happened
