"""Asking which of several open faults was worked on."""

from __future__ import annotations

import pytest

from handsfree.dialogue.questions.which_fault import WhichFaultQuestion
from handsfree.journal.fault_events import FaultWorked

from ...talk import Talk

QUESTION = WhichFaultQuestion


def ask(talk: Talk) -> None:
    talk.says("i found the left arm loose", "affirm", "i found sensor blind", "affirm", "repaired")


@pytest.fixture
def asked(talk) -> Talk:
    ask(talk)
    return talk


def test_the_last_one_is_named_first(talk):
    talk.says("i found the left arm loose", "affirm", "i found sensor blind", "affirm")
    assert talk.says("repaired") == ["Sensor blind: is it that one?"]
    assert talk.says("negative") == ["Left leaf, arm loose: is it that one?"]
    assert talk.says("affirm")[0] == "Repaired."
    (done,) = talk.of(FaultWorked)
    assert (done.key, done.work) == ("left leaf/arm_loose", "repaired")


def test_none_of_them_keeps_nothing(asked):
    asked.says("negative")
    assert asked.says("negative")[0].startswith("Then no other fault is open.")
    assert asked.state.pending is None and asked.of(FaultWorked) == []


def test_the_part_tells_which(talk):
    talk.says("i found the left arm loose", "affirm", "i found sensor blind", "affirm")
    assert talk.says("replaced the arm")[0] == "Replaced, arm."


def test_without_a_fault_it_says_how_to_name_one(talk):
    for said in ("put right", "replaced the arm", "adjusted it"):
        spoken = talk.says(said)
        assert spoken[0].startswith("No fault is open. Say what you found")
        assert talk.state.pending is None
