"""Asking who accepts an item that is not OK."""

from __future__ import annotations

import pytest

from handsfree.dialogue import state_machine
from handsfree.dialogue.questions.accepted_by import AcceptedByQuestion
from handsfree.dialogue.questions.hand_over import HandOverQuestion
from handsfree.journal import events as ev

from ...talk import Talk
from . import test_hand_over

QUESTION = AcceptedByQuestion


def ask(talk: Talk) -> None:
    test_hand_over.ask(talk)
    talk.says("accepted by owner")


@pytest.fixture
def asked(talk) -> Talk:
    ask(talk)
    return talk


def test_the_name_is_kept_as_it_was_said_with_its_sound(asked):
    heard = asked.heard("affirm the facilities desk").model_copy(update={"clip": "000077.flac"})
    asked._take(state_machine.answer(asked.state, heard, 0.0))
    settled = asked.of(ev.OpenSettled)[0]
    assert (settled.word, settled.by, settled.by_clip) == (
        "accepted",
        "affirm the facilities desk",
        "000077.flac",
    )


def test_say_again_repeats_the_question(asked):
    assert asked.says("say again") == ["Who accepts it? Say the name."]


@pytest.mark.parametrize("said", ["no", "negative"])
def test_no_is_nobody_and_asks_for_the_decision_again(asked, said):
    asked.says(said)
    assert isinstance(asked.state.pending, HandOverQuestion)
    assert asked.of(ev.OpenSettled) == []


@pytest.mark.parametrize("said", ["yes", "affirm", "i do not know", "accepted by owner", "done"])
def test_a_word_of_the_conversation_is_no_name(asked, said):
    assert asked.says(said) == ["Who accepts it? Say the name."]
    assert asked.of(ev.OpenSettled) == []


def test_disregard_asks_for_the_decision_again(asked):
    asked.says("disregard")
    assert isinstance(asked.state.pending, HandOverQuestion)
    assert asked.of(ev.OpenSettled) == []
