"""The result of a jog counts after 'affirm'."""

from __future__ import annotations

import pytest

from handsfree.dialogue.questions.jog_result import JogResultQuestion
from handsfree.journal.events import FactAccepted

from ...talk import Talk
from .test_jog import ask as ask_jog

QUESTION = JogResultQuestion
SPOKEN = "Motor one, left leaf, left hand. Motor two, right leaf, right hand."


def ask(talk: Talk) -> None:
    ask_jog(talk)
    talk.says("clear", "left", "opening", "right", "closing")


def hands(talk: Talk) -> list[tuple[str, str]]:
    facts = [each.fact for each in talk.of(FactAccepted)]
    return [(fact.subject, fact.value) for fact in facts if "motor" in fact.subject]


@pytest.fixture
def asked(talk) -> Talk:
    ask(talk)
    return talk


def test_it_is_read_back(asked):
    assert asked.says("say again") == [SPOKEN]
    assert hands(asked) == [("motor one", "left")]


def test_affirm_files_it_reminds_of_the_power_and_ends_both_steps(asked):
    spoken = asked.says("affirm")
    assert "prove it dead again" in spoken[0]
    facts = {(f.fact.subject, f.fact.name): f.fact.value for f in asked.of(FactAccepted)}
    assert facts["motor one", "hand"] == "left" and facts["motor two", "hand"] == "right"
    assert asked.state.progress.ended["motor-hand:motor two"] == "done"
    assert asked.state.progress.at == "power-off" or asked.state.pending is None


@pytest.mark.parametrize("word", ["negative", "disregard"])
def test_a_refusal_files_nothing(asked, word):
    asked.says(word)
    assert asked.state.pending is None and hands(asked) == [("motor one", "left")]
