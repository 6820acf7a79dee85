"""The faults of a visit: one record each, and none is ever removed."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from handsfree.job.fault_kinds import FAULT_KINDS, MISTAKEN, PARTS, WORKS
from handsfree.job.finding import Finding, Verdict
from handsfree.job.job import Fact
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Subject
from handsfree.journal import events as ev
from handsfree.journal import office_events as office
from handsfree.journal.fault_events import FaultFound, FaultProved, FaultWorked
from handsfree.journal.search_events import SearchAnswered, SearchEnded, SearchStarted
from handsfree.visit_record.facts import Facts
from handsfree.visit_record.faults import Faults, follow
from handsfree.visit_record.open_items import OpenItems
from handsfree.visit_record.progress import Course, advance
from handsfree.visit_record.readings import Readings

AT = "2100-01-01T00:00:00.000Z"
SLAMS = {"tree": "slams", "title": "The door slams"}
LEFT = Subject.LEFT_LEAF
CURED = SearchEnded(
    **SLAMS, outcome="cured", cause="arm-loose", found="The arm is loose.", work="repaired"
)


def course_after(*bodies: ev.Body) -> Course:
    course = Course()
    for body in bodies:
        course = advance(course, body)
    return course


def observed(value: str, name: str = "swings_freely") -> ev.FactAccepted:
    return ev.FactAccepted(fact=Fact(subject=LEFT, name=name, value=value))


def judged(verdict: Verdict, reading_id: str) -> ev.Judged:
    finding = Finding(
        rule="opening time",
        subject=LEFT,
        quantity=Quantity.OPENING_TIME,
        verdict=verdict,
        reading="3.1",
        limit="3.5",
        bound="at least",
        unit="s",
        reading_id=reading_id,
    )
    return ev.Judged(findings=(finding,))


def test_a_named_fault_has_its_whole_life():
    key = "left leaf/arm_loose"
    (fault,) = course_after(
        ev.StepEntered(key="swings-free:left leaf"),
        FaultFound(subject=LEFT, name="arm_loose", clip="000003.flac"),
        FaultWorked(key=key, work="replaced", part="arm"),
        FaultProved(key=key, by="looked", what="Is that gone?"),
    ).faults
    assert (fault.key, fault.step, fault.clip) == (key, "swings-free:left leaf", "000003.flac")
    assert not fault.open and fault.line == (
        "left leaf: arm loose; found: reported by the technician; done: replaced (arm); "
        "proved: checked again: gone."
    )


def test_what_is_left_of_a_fault_stands_with_it():
    (fault,) = course_after(
        FaultFound(subject=LEFT, name="arm_loose"),
        ev.OpenSettled(key="left leaf/arm_loose", word="accepted", by="the desk"),
    ).faults
    assert fault.open and fault.steps[-1] == ("left", "accepted by the desk")


def test_an_observation_in_order_proves_it_and_does_not_wipe_it():
    (fault,) = course_after(
        ev.StepEntered(key="swings"),
        observed("not_in_order"),
        ev.NoteKept(step_key="swings", text="it rubs", clip=None),
        observed("in_order"),
    ).faults
    assert (fault.words, fault.proved) == ("it rubs", "observation")
    assert fault.unexplained and not fault.open


def test_nothing_done_keeps_a_fault_open_although_it_looks_in_order():
    key = "left leaf/swings_freely"
    (fault,) = course_after(
        observed("not_in_order"), observed("in_order"), FaultWorked(key=key, work="nothing")
    ).faults
    assert fault.open


def test_work_that_did_not_help_stays_in_the_record():
    key = "left leaf/swings_freely"
    (fault,) = course_after(
        observed("not_in_order"),
        FaultWorked(key=key, work="adjusted"),
        observed("not_in_order"),
        observed("in_order"),
    ).faults
    assert fault.unexplained and fault.tried == ("adjusted",)
    assert ("tried", "adjusted") in fault.steps


def test_a_fault_that_comes_back_is_another_one():
    key = "left leaf/swings_freely"
    course = course_after(
        observed("not_in_order"),
        ev.OpenSettled(key=key, word="done_later"),
        FaultWorked(key=key, work="adjusted"),
        observed("in_order"),
        observed("not_in_order"),
    )
    assert [fault.open for fault in course.faults] == [False, True]
    assert [fault.left for fault in course.faults] == ["done_later", None]
    assert course.settled == {}


def test_a_reading_that_fails_is_proved_by_one_that_passes():
    (fault,) = course_after(judged(Verdict.FAIL, "r1"), judged(Verdict.PASS, "r2")).faults
    assert (fault.kind, fault.quantity, fault.proved, fault.proof) == (
        "measured",
        "opening_time",
        "reading",
        "r2",
    )
    assert ("done", "measured again") in fault.steps


def test_a_passing_reading_that_is_taken_back_proves_nothing():
    (fault,) = course_after(
        judged(Verdict.FAIL, "r1"), judged(Verdict.PASS, "r2"), ev.ReadingWithdrawn(reading_id="r2")
    ).faults
    assert fault.open


def test_a_reading_that_was_misheard_was_no_fault_but_is_still_shown():
    for gone in (
        ev.ReadingWithdrawn(reading_id="r1"),
        office.ReadingStruck(reading_id="r1", by="Dana", why="misheard"),
        judged(Verdict.PASS, "r1"),  # the office corrected its value
    ):
        (fault,) = course_after(judged(Verdict.FAIL, "r1"), gone).faults
        assert fault.withdrawn and not fault.open and "withdrawn" in fault.line


def test_what_the_office_corrects_was_no_fault():
    amended = office.FactAmended(
        subject=LEFT, name="swings_freely", old="not_in_order", new="in_order", by="D", why="heard"
    )
    (fault,) = course_after(observed("not_in_order"), amended).faults
    assert fault.withdrawn
    (proved,) = course_after(observed("not_in_order"), observed("in_order"), amended).faults
    assert not proved.withdrawn


def test_a_complaint_has_its_answers_its_cause_and_its_cure():
    (fault,) = course_after(
        SearchStarted(**SLAMS, sha256="5" * 64),
        SearchAnswered(at="arm-tight", asked="Is the arm tight?", answer="no"),
        CURED,
    ).faults
    assert fault.answers == (("Is the arm tight?", "no"),) and fault.name == "The door slams"
    assert fault.line == (
        "The door slams; found: complaint; cause: The arm is loose; done: repaired; "
        "proved: the door was tried again."
    )


def test_a_search_without_a_cure_leaves_it_open():
    for outcome in ("not_cured", "left", "not_found", "stopped"):
        (fault,) = course_after(
            SearchStarted(**SLAMS, sha256="5" * 64), SearchEnded(**SLAMS, outcome=outcome)
        ).faults
        assert fault.open and fault.outcome == outcome


def test_a_second_search_goes_on_with_the_same_complaint():
    (fault,) = course_after(
        SearchStarted(**SLAMS, sha256="5" * 64),
        SearchAnswered(at="a", asked="Is the arm tight?", answer="no"),
        SearchEnded(**SLAMS, outcome="stopped"),
        SearchStarted(**SLAMS, sha256="5" * 64),
        SearchAnswered(at="b", asked="Is it quiet?", answer="yes"),
        CURED,
    ).faults
    assert len(fault.answers) == 2 and not fault.open


def test_a_proof_from_before_a_complaint_came_back_does_not_count_for_it():
    """'Nothing was done' kept it open although its step looked OK; then it came back for good."""
    bodies = (
        SearchStarted(**SLAMS, sha256="5" * 64),
        SearchEnded(**SLAMS, outcome="stopped"),
        FaultWorked(key="search/slams", work="nothing"),
        SearchEnded(**SLAMS, outcome="cured"),
        SearchStarted(**SLAMS, sha256="5" * 64),
        SearchEnded(
            **SLAMS, outcome="not_cured", cause="arm-loose", found="A loose arm.", work="repaired"
        ),
    )
    (fault,) = course_after(*bodies).faults
    assert fault.open and fault.work == "repaired" and fault.proved is None


def test_a_complaint_that_was_put_right_by_its_word_alone_is_shown():
    """So it stands in journals of before there was a proof."""
    (fault,) = course_after(SearchEnded(**SLAMS, outcome="cured")).faults
    assert not fault.open and fault.name == "The door slams"


def test_the_record_has_the_times_and_the_sounds():
    faults, course = Faults(), Course()
    key = "left leaf/swings_freely"
    bodies = (
        ev.Heard(text="not in order", meaning={"kind": "choice"}, clip="000001.flac"),
        ev.Heard(text="affirm", meaning={"kind": "affirm"}, clip="000002.flac"),
        observed("not_in_order"),
        FaultWorked(key=key, work="adjusted"),
        observed("in_order"),
    )
    for seq, body in enumerate(bodies, 1):
        course = advance(course, body)
        at = AT.replace("00:00:00", f"00:00:0{seq}")
        faults.apply(ev.Event(seq=seq, at=at, body=body, prev="0" * 64), course.faults)
    (fault,) = faults.all
    assert (fault.seq, fault.clip) == (3, "000001.flac")
    assert [each[17:19] for each in (fault.at, fault.worked_at, fault.proved_at)] == [
        "03",
        "04",
        "05",
    ]


def test_who_accepted_an_open_item_stands_with_it():
    items, course = OpenItems(), Course()
    for body in (
        SearchStarted(**SLAMS, sha256="5" * 64),
        SearchEnded(**SLAMS, outcome="not_found"),
        ev.OpenSettled(key="search/slams", word="accepted", by="the desk"),
    ):
        items.apply(ev.Event(seq=1, at=AT, body=body, prev="0" * 64))
        course = advance(course, body)
    (item,) = items.items(Readings(), Facts(), course)
    assert (item.what, item.word, item.accepted_by) == (
        "The door slams: not cured",
        "accepted",
        "the desk",
    )
    (left,) = items.left_open(course)
    assert (left.what, left.word, left.by) == ("The door slams", "accepted", "the desk")


KEYS = ["left leaf/arm_loose", "left leaf/swings_freely", "left leaf/opening time", "search/slams"]
KINDS = [*FAULT_KINDS][:3]
BODIES = st.one_of(
    st.builds(FaultFound, subject=st.just(LEFT), name=st.sampled_from(KINDS)),
    st.builds(
        FaultWorked,
        key=st.sampled_from(KEYS),
        work=st.sampled_from([*WORKS, MISTAKEN]),
        part=st.sampled_from([None, *PARTS]),
    ),
    st.builds(
        FaultProved,
        key=st.sampled_from(KEYS),
        by=st.sampled_from(["observation", "looked"]),
        what=st.just("swings_freely"),
    ),
    st.builds(observed, st.sampled_from(["in_order", "not_in_order"])),
    st.builds(
        office.FactAmended,
        subject=st.just(LEFT),
        name=st.just("swings_freely"),
        old=st.just(""),
        new=st.sampled_from(["in_order", "not_in_order"]),
        by=st.just("Dana"),
        why=st.just(""),
    ),
    st.builds(judged, st.sampled_from(Verdict), st.sampled_from(["r1", "r2", "r3"])),
    st.builds(ev.ReadingWithdrawn, reading_id=st.sampled_from(["r1", "r2", "r3"])),
    st.builds(
        office.ReadingStruck,
        reading_id=st.sampled_from(["r1", "r2"]),
        by=st.just("Dana"),
        why=st.just(""),
    ),
    st.builds(SearchStarted, tree=st.just("slams"), title=st.just("It slams"), sha256=st.just("5")),
    st.builds(SearchAnswered, at=st.just("a"), asked=st.just("Is it?"), answer=st.just("yes")),
    st.builds(
        SearchEnded,
        tree=st.just("slams"),
        title=st.just("It slams"),
        outcome=st.sampled_from(["cured", "not_cured", "left", "not_found", "stopped"]),
    ),
    st.builds(
        ev.OpenSettled,
        key=st.sampled_from(KEYS),
        word=st.sampled_from(["done_later", "refused", "tagged_out", "accepted"]),
        by=st.sampled_from([None, "the desk"]),
    ),
    st.builds(ev.StepEntered, key=st.sampled_from(["swings", "times"])),
    st.builds(ev.NoteKept, step_key=st.just("swings"), text=st.just("it rubs"), clip=st.none()),
)


@pytest.mark.slow
@given(st.lists(BODIES, max_size=40))
def test_no_sequence_of_events_removes_a_fault_that_was_found(bodies):
    lives = ()
    for body in bodies:
        after = follow(lives, body, "swings")
        found_before = [(life.key, life.kind, life.name, life.step) for life in lives]
        found_now = [(life.key, life.kind, life.name, life.step) for life in after]
        assert found_now[: len(lives)] == found_before
        for was, now in zip(lives, after, strict=False):
            assert now.words == was.words or was.words is None
            assert now.answers[: len(was.answers)] == was.answers
        lives = after


@pytest.mark.slow
@given(st.lists(BODIES, max_size=40))
def test_what_was_found_is_closed_only_by_a_proof_or_a_correction(bodies):
    for life in course_after(*bodies).faults:
        if not life.open:
            assert life.proved is not None or life.withdrawn or life.work == MISTAKEN
            assert life.withdrawn or life.work != "nothing"


@pytest.mark.slow
@given(st.lists(BODIES, max_size=30), st.sampled_from(["again", "in vain", "seen"]), st.data())
def test_a_fault_found_again_is_open_whatever_was_seen_before(bodies, how, data):
    last, key = {
        "again": (SearchStarted(**SLAMS, sha256="5"), "search/slams"),
        "in vain": (SearchEnded(**SLAMS, outcome="not_cured", work="repaired"), "search/slams"),
        "seen": (observed("not_in_order"), "left leaf/swings_freely"),
    }[how]
    worked = FaultWorked(key=key, work=data.draw(st.sampled_from([*WORKS])))
    lives = course_after(*bodies, last, worked).faults
    assert next(life for life in reversed(lives) if life.key == key).open


@pytest.mark.slow
@given(st.lists(BODIES, max_size=30))
def test_of_one_key_only_the_last_life_can_be_open(bodies):
    lives = course_after(*bodies).faults
    for nth, life in enumerate(lives):
        if any(later.key == life.key for later in lives[nth + 1 :]):
            assert not life.open
