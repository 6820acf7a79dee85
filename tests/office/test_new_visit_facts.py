"""Visit facts corrected by the office: old and new values stay, also of a struck one."""

from __future__ import annotations

import pytest

from handsfree.errors import OfficeError
from handsfree.journal.office_events import VisitFactAmended
from handsfree.journal.paper_events import VisitFactKept
from handsfree.journal.reader import read
from handsfree.office.changes import AmendVisitFact, StrikeVisitFact, change_of, words_for
from handsfree.office.edit_conflicts import clashing
from handsfree.office.pages import Person, change_page, visit_page
from handsfree.office.visit_snapshot import VisitSnapshot
from handsfree.reports.record_data import record_data
from handsfree.reports.visit_fact_rows import visit_fact_lines

from ..reports.at_desk import AtDesk

SERIAL, PARTS, HOUR = "left leaf/operator_serial", "opening/parts_used", "opening/arrival"


@pytest.fixture
def desk(waiting) -> AtDesk:
    desk = AtDesk(read(waiting))
    desk.add(
        VisitFactKept(subject="left leaf", name="operator_serial", value="A742"),
        VisitFactKept(name="parts_used"),
        VisitFactKept(name="arrival"),
    )
    return desk


def seq_of(desk: AtDesk, about: str) -> int:
    subject, _, name = about.partition("/")
    return next(s.seq for s in desk.record().visit_facts if (s.subject, s.name) == (subject, name))


def amend(desk: AtDesk, about: str, new: str) -> VisitFactAmended:
    change = AmendVisitFact(seq=seq_of(desk, about), about=about, new=new, why="on the photo")
    (body,) = desk.change(change)
    assert isinstance(body, VisitFactAmended)
    return body


def test_a_serial_number_keeps_old_and_new(desk):
    body = amend(desk, SERIAL, "a743")
    assert (body.old, body.new, body.by) == ("A742", "A743", "A. Okoro")
    (line,) = [each for each in visit_fact_lines(desk.record()) if "serial" in each]
    assert line == "serial number of the operator, left leaf: A743 (corrected by A. Okoro)"
    last = desk.record().office[-1]
    assert last.what == "corrected serial number of the operator, left leaf from A742 to A743"


def test_parts_that_were_only_spoken_are_written_down(desk):
    amend(desk, PARTS, "two arm screws")
    assert "parts used: two arm screws (corrected by A. Okoro)" in visit_fact_lines(desk.record())


def test_an_hour_is_that_of_the_place_on_its_day(desk):
    body = amend(desk, HOUR, "9:05")
    assert body.old[:10] == body.new[:10]
    assert body.new.endswith(":05:00.000Z")


def test_what_was_struck_out_counts_no_more_and_stays_on_the_page(desk):
    desk.change(StrikeVisitFact(seq=seq_of(desk, SERIAL), about=SERIAL, why="another door"))
    record = desk.record()
    assert not any("serial" in each for each in visit_fact_lines(record))
    (struck,) = record.struck_visit_facts
    assert (struck.value, struck.amendments[-1].why) == ("A742", "another door")
    assert "A742" not in str(record_data(record))
    with pytest.raises(OfficeError, match="no longer filled in"):
        desk.change(StrikeVisitFact(seq=struck.seq, about=SERIAL, why="again"))


def test_what_nobody_stated_is_filled_in(desk):
    change = AmendVisitFact(about="opening/controller_serial", new="K1 22", why="on the photo")
    assert words_for(change, desk.record()) == "serial number of the controller: K1 22"
    desk.change(change)
    assert desk.record().office[-1].what == "filled in serial number of the controller: K1 22"
    assert "K1 22" in str(record_data(desk.record()))


@pytest.mark.parametrize(
    ("about", "new", "way_out"),
    [
        (SERIAL, "æ", "letters and digits"),
        (HOUR, "25:00", "local time at the door, such as 09:15"),
        (HOUR, "soon", "local time at the door, such as 09:15"),
        ("opening/gauge_calibrated", "last year", "a month, 2026-03"),
        ("opening/inspection_label", "somewhere", " or "),
        ("left leaf/parts_used", "screws", "at most 1000"),
    ],
)
def test_what_cannot_stand_there_is_refused_with_what_can(desk, about, new, way_out):
    seq = seq_of(desk, about) if about in (SERIAL, HOUR) else None
    with pytest.raises(OfficeError, match="not a possible value") as refused:
        desk.change(AmendVisitFact(seq=seq, about=about, new=new, why="x"))
    assert way_out in str(refused.value)


@pytest.mark.parametrize("about", ["left leaf", "left leaf/color", "moon/arrival", "opening/photo"])
def test_a_form_names_a_fact_that_there_is(about):
    with pytest.raises(OfficeError, match="the office cannot make this change"):
        change_of({"kind": "noted", "about": about, "new": "A", "why": "x"})


def test_two_who_correct_the_same_fact_are_asked_again(desk):
    before = len(desk.events)
    amend(desk, SERIAL, "A743")
    later = desk.events[before:]
    mine = AmendVisitFact(seq=None, about=SERIAL, new="A744", why="x")
    assert clashing(later, mine) == later
    assert not clashing(later, mine.model_copy(update={"about": PARTS}))


@pytest.mark.slow
def test_the_pages_show_the_old_value_and_offer_what_is_missing(desk, waiting):
    amend(desk, SERIAL, "A743")
    desk.change(StrikeVisitFact(seq=seq_of(desk, HOUR), about=HOUR, why="left out"))
    seen = VisitSnapshot(
        folder=waiting, here="/visit/one", visit=desk.record(), head="", writable=True
    )
    who = Person("A. Okoro", "c")
    page = visit_page(seen, who)
    assert "was A742, corrected by A. Okoro" in page
    assert "<s>Arrival" in page and "struck out by A. Okoro" in page
    corrected = change_page(seen, who, "noted", seq_of(desk, SERIAL)) or ""
    assert "letters and digits" in corrected and "A743" in corrected
    blank = change_page(seen, who, "noted", 0) or ""
    assert 'value="opening/arrival"' in blank and f'value="{SERIAL}"' not in blank
    assert change_page(seen, who, "noted", 99999) is None
