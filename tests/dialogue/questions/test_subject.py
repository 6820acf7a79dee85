"""Asking for the leaf of readings."""

from __future__ import annotations

import pytest

from handsfree.dialogue import second_opinion, state_machine
from handsfree.dialogue.questions.readings import ReadingsQuestion
from handsfree.dialogue.questions.subject import ReadingSubjectQuestion

from ...talk import Talk

QUESTION = ReadingSubjectQuestion
SPOKEN = "Which leaf, left or right?"


def ask(talk: Talk) -> None:
    talk.says("opening time six point two")


@pytest.fixture
def asked(talk) -> Talk:
    ask(talk)
    return talk


@pytest.mark.parametrize("word", ["say again", "affirm"])
def test_the_leaf_is_asked_for(asked, word):
    assert asked.says(word) == [SPOKEN]


@pytest.mark.parametrize(
    ("said", "subjects"),
    [("left leaf", {"left leaf"}), ("right", {"right leaf"})],
)
def test_the_leaf_completes_the_reading(asked, said, subjects):
    asked.says(said)
    (item,) = asked.state.pending.items
    assert set(item.subjects) == subjects and str(item.value) == "6.2"


def test_the_sound_is_that_of_the_value(talk):
    value = talk.heard("opening time six point two").model_copy(update={"clip": "value.flac"})
    leaf = talk.heard("left leaf").model_copy(update={"clip": "leaf.flac"})
    for heard in (value, leaf):
        talk._take(state_machine.answer(talk.state, heard, talk.now_s))
    (item,) = talk.state.pending.items
    assert item.clip == "value.flac"


def test_a_choice_that_is_no_leaf_is_asked_again(asked):
    assert asked.says("push") == [SPOKEN]
    assert isinstance(asked.state.pending, ReadingSubjectQuestion)


def test_the_second_recognizer_waits_until_the_leaf_is_known(asked):
    assert second_opinion.is_incomplete(asked.state) and not second_opinion.waits(asked.state)
    asked.says("left leaf")
    assert second_opinion.waits(asked.state) and not second_opinion.is_incomplete(asked.state)


def test_the_words_of_the_value_count_toward_a_loop(asked):
    """The reading was made of both utterances; 'left leaf' alone would say nothing."""
    asked.says("left leaf")
    assert asked.state.loop.proposal == "opening time six point two"


@pytest.mark.parametrize("word", ["negative", "disregard"])
def test_it_can_be_dropped(asked, word):
    assert asked.says(word)[0].startswith("Dropped.")
    assert asked.state.pending is None


def test_a_leaf_that_was_said_stays(talk):
    talk.says("left leaf opening time six hold open time five")
    assert isinstance(talk.state.pending, ReadingsQuestion)
    assert {item.subjects for item in talk.state.pending.items} == {("left leaf",)}
