"""The proof of a repair that no step of the visit asks for."""

from __future__ import annotations

import pytest

from handsfree.dialogue.questions.fault_proof import FaultProofQuestion
from handsfree.journal import events as ev
from handsfree.journal.fault_events import FaultProved

from ...talk import Talk
from .places import LEFT_OPENING

QUESTION = FaultProofQuestion


def ask(talk: Talk) -> None:
    talk.says("i found the left arm loose", "affirm", "replaced the arm")


@pytest.fixture
def asked(talk) -> Talk:
    ask(talk)
    return talk


def test_yes_proves_it(asked):
    assert asked.says("affirm") == ["Proved.", "Power off."]
    (proved,) = asked.of(FaultProved)
    assert (proved.key, proved.by) == ("left leaf/arm_loose", "looked")
    assert proved.what == "Check it now. Left leaf, arm loose: is that gone?"
    assert not asked.state.progress.faults[0].open


@pytest.mark.parametrize("word", ["negative", "disregard"])
def test_anything_else_leaves_it_open(asked, word):
    assert asked.says(word) == ["It stays on the list.", "Power off."]
    assert asked.of(FaultProved) == [] and asked.state.progress.faults[0].open


def test_a_complaint_whose_cause_is_known_is_proved_by_its_own_question(talk):
    talk.says("it slams", "affirm", "at the end", "affirm", "negative", "done", "negative")
    assert talk.says("put right") == ["Is the latching time within the limit, without a slam?"]
    talk.says("affirm")
    assert talk.of(FaultProved)[0].key == "search/slams"


def test_a_complaint_without_a_cause_is_put_right_only_with_a_proof(talk):
    talk.says("it slams", "affirm", "skip")
    assert talk.says("put right")[0].startswith("The door slams. What was done")
    assert talk.says("adjusted")[-1] == "Check it now. The door slams: is that gone?"
    assert talk.state.progress.faults[0].open
    talk.says("affirm")
    assert not talk.state.progress.faults[0].open


def test_a_step_that_is_over_proves_it_again(talk):
    talk.go_to("swings-free:left leaf")
    talk.says("not in order", "affirm", "it rubs")
    spoken = talk.says("replaced the hinge")
    assert spoken == [
        "Replaced, hinge.",
        "Then prove it.",
        "Swing the left leaf by hand. Does it swing freely?",
    ]
    assert talk.says("in order", "affirm") == ["Swing the right leaf."]
    assert talk.state.progress.faults[0].proved == "observation"


def test_a_step_ahead_proves_it_there(talk):
    talk.says("i found leaf binds on the left leaf", "affirm")
    spoken = talk.says("replaced the hinge")
    assert spoken[1] == "We'll prove that at a later step: Swing the left leaf."
    assert talk.state.progress.at == "power-off" and talk.state.progress.faults[0].open
    talk.go_to("swings-free:right leaf")
    assert talk.state.progress.faults[0].proved == "observation"


def test_a_reading_that_fails_is_proved_by_a_reading(talk):
    talk.go_to(LEFT_OPENING)
    for _ in range(3):
        talk.says("two seconds", "affirm")
    (time, *_) = talk.state.progress.faults
    assert time.key == "left leaf/opening time" and time.open
    talk.says("adjusted it", "negative")
    spoken = talk.says("affirm")
    assert "Time the left leaf to backcheck and say the opening time." in spoken
    talk.says("five seconds", "affirm")
    assert all(life.proved == "reading" for life in talk.state.progress.faults)
    assert {body.reading.attempt for body in talk.of(ev.ReadingAccepted)} == {1, 2, 3, 4}
