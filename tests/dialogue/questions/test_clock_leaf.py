"""Asking which leaf to time."""

from __future__ import annotations

import pytest

from handsfree.dialogue.questions.clock_leaf import ClockLeafQuestion
from handsfree.dialogue.questions.clock_run import ClockRunQuestion

from ...talk import Talk

QUESTION = ClockLeafQuestion
SPOKEN = "Which leaf, left or right?"


def ask(talk: Talk) -> None:
    talk.state = talk.state.model_copy(update={"times_by_ear": True})
    talk.says("start the clock")


@pytest.fixture
def asked(talk) -> Talk:
    ask(talk)
    return talk


@pytest.mark.parametrize("word", ["say again", "affirm"])
def test_the_leaf_is_asked_for(asked, word):
    assert asked.says(word) == [SPOKEN]


@pytest.mark.parametrize(
    ("said", "leaves"), [("left leaf", ("left leaf",)), ("right leaf", ("right leaf",))]
)
def test_the_leaf_starts_the_clock(asked, said, leaves):
    asked.says(said)
    assert asked.state.pending == ClockRunQuestion(leaves=leaves)


def test_the_whole_command_answers_it_too(asked):
    asked.says("start the clock right leaf")
    assert asked.state.pending == ClockRunQuestion(leaves=("right leaf",))


def test_a_choice_that_is_no_leaf_is_asked_again(asked):
    assert asked.says("push") == [SPOKEN]


@pytest.mark.parametrize("word", ["negative", "disregard"])
def test_it_can_be_dropped(asked, word):
    assert asked.says(word)[0].startswith("Dropped.")
    assert asked.state.pending is None
