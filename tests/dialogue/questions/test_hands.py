"""Facts that contradict the leaves and motors are held until the contradiction is settled."""

from __future__ import annotations

import pytest

from handsfree.dialogue.questions.fact import FactQuestion
from handsfree.dialogue.questions.hands import HandsQuestion
from handsfree.dialogue.questions.jog import JogQuestion
from handsfree.journal.events import FactAccepted, FactsChallenged

from ...talk import Talk
from ..door_talk import TOLD, at_the_door, enter

QUESTION = HandsQuestion
SECOND = "motor-hand:motor two"


def ask(talk: Talk) -> None:
    talk.go_to("motor-hand:motor one")
    talk.says("left hand", "affirm", "left hand")


@pytest.fixture
def asked(talk) -> Talk:
    ask(talk)
    return talk


def test_it_says_what_cannot_be(talk):
    ask(talk)
    (spoken,) = talk.says("say again")
    assert spoken == (
        "Motor two, hand, left hand. That can't be: both motors have the same hand, and a pair "
        "that swings the same way needs opposite hands. Look again and correct it. "
        "Or say short jog."
    )
    (challenge,) = talk.of(FactsChallenged)
    assert "needs opposite hands" in challenge.why


def test_no_assent_files_it(asked):
    before = len(asked.of(FactAccepted))
    for _ in range(5):
        asked.says("affirm", "yes", "done")
    assert len(asked.of(FactAccepted)) == before
    assert isinstance(asked.state.pending, HandsQuestion) and asked.state.progress.at == SECOND


@pytest.mark.parametrize("said", ["right hand", "motor two right hand", "motor one right hand"])
def test_what_is_right_settles_it(asked, said):
    asked.says(said)
    assert isinstance(asked.state.pending, FactQuestion)
    asked.says("affirm")
    assert not isinstance(asked.state.pending, HandsQuestion)


@pytest.mark.parametrize("word", ["negative", "disregard"])
def test_a_refusal_drops_it_and_the_step_stays_open(asked, word):
    assert asked.says(word)[0].startswith("Dropped.")
    assert asked.state.pending is None and asked.state.progress.at == SECOND
    assert SECOND not in asked.state.progress.ended


def test_a_jog_begins_with_its_caution(asked):
    (spoken,) = asked.says("short jog")
    assert spoken.startswith("Caution.") and isinstance(asked.state.pending, JogQuestion)


def test_a_hand_that_the_leaf_does_not_let_expect_is_held():
    talk, _ = at_the_door(TOLD)
    enter(talk, "motor-hand:motor one")
    talk.says("motor one left leaf", "affirm")
    assert talk.says("say again")[-1].endswith(
        "Motor one drives the left leaf: expect left hand, seen from the corridor."
    )
    (spoken,) = talk.says("right hand")
    assert "expect left hand, seen from the corridor" in spoken
    assert isinstance(talk.state.pending, HandsQuestion)


@pytest.mark.parametrize(
    ("facts", "why"),
    [
        (("left leaf hinges right",), "outer edges"),
        (("left leaf pushes", "affirm", "right leaf pulls"), "you push one leaf and pull"),
        (("left leaf arm pushes", "affirm", "left leaf arm is on the pull side"), "an arm that"),
        (("motor one left leaf", "affirm", "motor two left leaf"), "both motors are on one leaf"),
    ],
)
def test_each_contradiction_is_held(facts, why):
    talk, _ = at_the_door(TOLD)
    spoken = talk.says(*facts)
    assert why in spoken[-1] and isinstance(talk.state.pending, HandsQuestion)
    talk.says("affirm")
    assert isinstance(talk.state.pending, HandsQuestion)
    if "motor" not in facts[0]:
        # No jog shows where hinges are.
        talk.says("short jog")
        assert isinstance(talk.state.pending, HandsQuestion)


def test_in_spanish():
    talk, _ = at_the_door(TOLD, language="es")
    talk.says("motor uno mano izquierda", "afirmativo")
    (spoken,) = talk.says("motor dos mano izquierda")
    assert "No puede ser" in spoken
    talk.says("afirmativo")
    assert isinstance(talk.state.pending, HandsQuestion)
    assert talk.says("pulso corto")[0].startswith("Precaución.")
