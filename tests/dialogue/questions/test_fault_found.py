"""A fault that was named and read back."""

from __future__ import annotations

import pytest

from handsfree.dialogue.questions.cause_search import CauseSearchQuestion
from handsfree.dialogue.questions.fault_found import FaultFoundQuestion
from handsfree.dialogue.questions.open_item import OpenItemQuestion
from handsfree.journal.fault_events import FaultFound

from ...talk import Talk
from .places import LEFT_OPENING, at_the_close_out

QUESTION = FaultFoundQuestion


def ask(talk: Talk) -> None:
    talk.says("i found the left arm loose")


def test_it_is_read_back_and_kept_at_any_step(talk):
    talk.go_to(LEFT_OPENING)
    assert talk.says("i found the left arm loose") == ["Left leaf, arm loose. Yes or no?"]
    assert talk.of(FaultFound) == []
    assert talk.says("affirm") == ["Fault kept.", "Opening time of the left leaf."]
    (found,) = talk.of(FaultFound)
    assert (found.subject, found.name) == ("left leaf", "arm_loose")
    (fault,) = talk.state.progress.faults
    assert fault.open and fault.step == LEFT_OPENING and fault.kind == "named"


@pytest.mark.parametrize("word", ["negative", "disregard"])
def test_without_assent_nothing_is_kept(talk, word):
    ask(talk)
    assert talk.says(word) == ["Dropped.", "Power off."]
    assert talk.state.pending is None and talk.state.progress.faults == ()


def test_the_step_at_hand_tells_the_leaf(talk):
    talk.go_to("swings-free:right leaf")
    assert talk.says("i found a worn hinge") == ["Right leaf, hinge worn. Yes or no?"]


def test_a_fault_of_the_whole_door_needs_no_place(talk):
    assert talk.says("i found sensor blind") == ["Sensor blind. Yes or no?"]


def test_it_waits_until_a_reading_was_answered(talk):
    talk.go_to(LEFT_OPENING)
    talk.says("five seconds")
    before = talk.state.pending
    assert talk.says("i found the left arm loose")[0] == "First answer this."
    assert talk.state.pending == before


def test_a_search_goes_on_where_it_was(talk):
    talk.says("it slams", "affirm", "i found the left arm loose")
    spoken = talk.says("affirm")
    assert spoken == ["Fault kept.", "Is it fast all the way shut, or only at the end?"]
    assert isinstance(talk.state.pending, CauseSearchQuestion)


def test_a_fault_that_is_found_at_the_close_out_is_asked_for_there(talk):
    at_the_close_out(talk)
    talk.says("i found the left arm loose", "affirm")
    assert isinstance(talk.state.pending, OpenItemQuestion)
    assert talk.state.pending.item.key == "left leaf/arm_loose"
