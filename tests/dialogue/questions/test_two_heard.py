"""Asking which of two values was said, if the two recognizers heard different ones.

More of the comparison itself is in tests/dialogue/test_second_opinion.py.
"""

from __future__ import annotations

import pytest

from handsfree.dialogue.questions.readings import ReadingsQuestion
from handsfree.dialogue.questions.two_heard import TwoHeardQuestion

from ...talk import Talk
from .places import at_the_opening_time

QUESTION = TwoHeardQuestion
SPOKEN = "I heard three point seven, or three point seven six?"


def ask(talk: Talk) -> None:
    at_the_opening_time(talk)
    talk.says("three point seven")
    talk.second_ear_hears("3.76")


@pytest.fixture
def asked(talk) -> Talk:
    ask(talk)
    return talk


@pytest.mark.parametrize("word", ["say again", "affirm"])
def test_both_values_are_named(asked, word):
    assert asked.says(word) == [SPOKEN]


@pytest.mark.parametrize("value", ["3.7", "3.76"])
def test_the_one_that_is_said_is_read_back_and_marked(asked, value):
    asked.says(value)
    assert isinstance(asked.state.pending, ReadingsQuestion)
    (item,) = asked.state.pending.items
    assert (str(item.value), item.second_ear) == (value, "chosen")


def test_another_reading_replaces_both(asked):
    asked.says("four")
    (item,) = asked.state.pending.items
    assert (str(item.value), item.second_ear) == ("4", None)


def test_a_correction_is_about_the_first_value(asked):
    asked.says("correction five")
    (item,) = asked.state.pending.items
    assert (str(item.value), item.quantity) == ("5", "opening_time")


@pytest.mark.parametrize("word", ["negative", "disregard"])
def test_both_can_be_refused(asked, word):
    assert asked.says(word)[0].startswith("Dropped.")
    assert asked.state.pending is None


def test_the_second_difference_is_asked_about_after_the_first(talk):
    talk.go_to("opening-time:left leaf")
    talk.says("left leaf opening time six hold open time five")
    talk.second_ear_hears("left leaf opening time 6.3 hold open time 5.9")
    assert talk.state.pending.nth == 0
    talk.says("six")
    assert isinstance(talk.state.pending, TwoHeardQuestion) and talk.state.pending.nth == 1
