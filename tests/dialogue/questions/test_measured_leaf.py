"""Asking which leaf a log belongs to."""

from __future__ import annotations

import pytest

from handsfree.dialogue.questions.leaf_log import LeafLogQuestion
from handsfree.dialogue.questions.measured_leaf import MeasuredLeafQuestion

from ...talk import Talk

QUESTION = MeasuredLeafQuestion
SPOKEN = "Which leaf, left or right?"


def ask(talk: Talk) -> None:
    talk.says("measure the leaf")


@pytest.fixture
def asked(talk) -> Talk:
    ask(talk)
    return talk


@pytest.mark.parametrize("word", ["say again", "affirm", "push"])
def test_the_leaf_is_asked_for(asked, word):
    assert asked.says(word) == [SPOKEN]


@pytest.mark.parametrize("leaf", ["left leaf", "right leaf"])
def test_its_log_is_read(asked, leaf):
    asked.says(leaf)
    assert asked.state.pending == LeafLogQuestion(leaf=leaf)


def test_the_whole_command_answers_it_too(talk):
    talk.says("measure the leaf open angle ninety")
    assert talk.says("measure the left leaf") == [
        "Left leaf: reading the log. Open angle nine zero degrees."
    ]
    assert talk.state.pending == LeafLogQuestion(leaf="left leaf", open_angle_deg=90)


@pytest.mark.parametrize("word", ["negative", "disregard"])
def test_it_can_be_dropped(asked, word):
    assert asked.says(word)[0].startswith("Dropped.")
    assert asked.state.pending is None
