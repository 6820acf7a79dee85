"""'I don't know' at the leaf or the hand of a motor: a short jog is offered."""

from __future__ import annotations

import pytest

from handsfree.dialogue.questions.jog import JogQuestion
from handsfree.dialogue.questions.jog_offer import JogOfferQuestion
from handsfree.job.opening import Side

from ...talk import Talk
from ..door_talk import at_the_door, enter

QUESTION = JogOfferQuestion
ONE_LEAF = """
[opening]
name = "side door"
swing = "single"
"""


def ask(talk: Talk) -> None:
    talk.go_to("motor-hand:motor one")
    talk.says("I don't know")


@pytest.fixture
def asked(talk) -> Talk:
    ask(talk)
    return talk


def test_it_says_which_hands_to_try(asked):
    (spoken,) = asked.says("say again")
    assert spoken == (
        "Set these at the controller: motor one left hand and motor two right hand."
        " Then a short jog shows whether they are right. Say short jog, or disregard."
    )


@pytest.mark.parametrize("word", ["short jog", "affirm"])
def test_the_jog_settles_both_motors(asked, word):
    assert asked.says(word)[0].startswith("Caution. A jog needs power")
    assert isinstance(asked.state.pending, JogQuestion)
    asked.says("clear", "left", "opening", "right", "opening", "affirm")
    motors = asked.state.progress.job.opening.motors
    assert [motor.leaf for motor in motors] == [Side.LEFT, Side.RIGHT]
    assert None not in [motor.hand for motor in motors]


def test_a_hand_that_is_seen_after_all_answers_the_step(asked):
    asked.says("motor one right hand", "affirm")
    assert asked.state.progress.job.opening.motors[0].hand is Side.RIGHT


def test_no_returns_to_the_step(asked):
    asked.says("disregard")
    assert asked.state.pending is None
    assert asked.state.progress.at == "motor-hand:motor one"


def test_a_skip_skips_the_step(asked):
    asked.says("skip", "the label is gone")
    assert asked.state.progress.ended["motor-hand:motor one"] == "skipped"


def test_a_single_door_is_not_asked_which_leaf_moved():
    talk, _ = at_the_door(ONE_LEAF, "controller-replaced-single")
    enter(talk, "motor-hand:motor one")
    spoken = talk.says("I don't know", "short jog", "opening", "clear")
    assert spoken[0].startswith("Jog motor one to open, and let go at once. Did it move to open")
    hand = talk.state.pending.held[0].value
    (said,) = talk.says("closing")[1:]
    assert said == f"Motor one, {Side(hand).other()} hand."
    talk.says("affirm")
    assert talk.state.progress.job.opening.motors[0].hand is Side(hand).other()
