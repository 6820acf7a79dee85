"""A timed run that is about to begin."""

from __future__ import annotations

import pytest

from handsfree.dialogue.questions.clock_run import ClockRunQuestion, next_run
from handsfree.dialogue.questions.readings import ReadingsQuestion
from handsfree.dialogue.state import TimeCycle
from handsfree.dialogue.turn import Turn
from handsfree.job.reading import Subject

from ...talk import Talk
from .places import CYCLE_S, at_the_opening_time, runs

QUESTION = ClockRunQuestion


def ask(talk: Talk) -> None:
    at_the_opening_time(talk)
    talk.says("start the clock both leaves")


@pytest.fixture
def asked(talk) -> Talk:
    ask(talk)
    return talk


@pytest.mark.parametrize("word", ["say again", "affirm"])
def test_it_is_repeated_and_listens_once_more(asked, word):
    listened = asked.replies.count(TimeCycle(leaf=Subject.LEFT_LEAF))
    (spoken,) = asked.says(word)
    assert spoken.startswith("Left leaf, run one.")
    assert asked.replies.count(TimeCycle(leaf=Subject.LEFT_LEAF)) == listened + 1


def test_the_marks_answer_it(asked):
    runs(asked, *CYCLE_S)
    assert isinstance(asked.state.pending, ReadingsQuestion)
    assert asked.state.pending.leaves == ("left leaf", "right leaf")


def test_a_cancelled_run_leaves_nothing(asked):
    assert runs(asked, cancelled=True)[0] == asked.state.words.say("clock_dropped")
    assert asked.state.pending is None


def test_marks_that_nothing_waits_for_are_ignored(talk):
    at_the_opening_time(talk)
    before = talk.state.pending
    assert runs(talk, *CYCLE_S) == []
    assert talk.state.pending is before is None


@pytest.mark.parametrize("word", ["negative", "disregard"])
def test_it_can_be_dropped(asked, word):
    assert asked.says(word)[0].startswith("Dropped.")
    assert asked.state.pending is None


def test_the_second_run_of_a_leaf_has_the_next_number(asked):
    assert next_run(Turn(asked.state), Subject.LEFT_LEAF) == 1
    runs(asked, *CYCLE_S)
    asked.says("affirm")
    assert next_run(Turn(asked.state), Subject.LEFT_LEAF) == 2
