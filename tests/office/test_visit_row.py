"""A visit as a row of the office's list."""

from __future__ import annotations

import pytest

from handsfree.journal import events as ev
from handsfree.journal.writer import Journal
from handsfree.office.visit_row import row_of
from handsfree.visit_record.load import load_record

from ..ledger.visits import BEGAN, small_visit


@pytest.mark.slow
def test_a_row_tells_what_the_visit_is(waiting, reviewed):
    row = row_of(load_record(waiting), "harbour/one")
    assert (row.reference, row.wrong, row.standing) == ("HH-0417", 1, "open")
    assert row.told == ("right leaf: closing force 17 lbf, at most 15 lbf",)
    assert (row.to_confirm, row.to_decide, row.due) == (42, 2, "2101-03-04")
    assert row.kind == "fail" and row.verdict == "Out of service: operator off and tagged"
    for word in ("hh-0417", "north entrance", "almeda", "washer", "harbour/one"):
        assert word in row.words
    signed = row_of(load_record(reviewed), "two")
    assert (signed.standing, signed.signed_by) == ("signed", "J. Lind")


def test_a_row_tells_what_was_not_checked(tmp_path):
    readings = (("opening_time", "6.2"), ("closing_force", "9.5"))
    folder = small_visit(tmp_path / "a", readings=readings, weight=None, closed=False)
    with Journal.open(folder, BEGAN) as journal:
        for step in ("weight", "closing-time"):
            ended = ev.StepEnded(key=f"{step}:left leaf", outcome="skipped", reason="no scale")
            journal.append(ended, BEGAN)
        journal.append(ev.VisitClosed(), BEGAN)
    row = row_of(load_record(folder), "a")
    assert (row.kind, row.verdict, row.wrong) == ("none", "Not fully checked", 0)
    assert row.told == (
        "not judged: left leaf: opening time",
        "1 of 2 checks pass; not checked: weight, left leaf; closing time, left leaf",
    )


def test_a_rehearsal_is_known_and_its_door_is_never_due(waiting):
    visit = load_record(waiting)
    opened = visit.opened.model_copy(update={"ears": "rehearsal, typed"})
    row = row_of(visit.model_copy(update={"opened": opened}), "practice")
    assert row.rehearsal and row.due == ""
    assert not row_of(visit, "harbour/one").rehearsal
