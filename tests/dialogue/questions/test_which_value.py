"""Asking which of two similar-sounding values was said."""

from __future__ import annotations

from decimal import Decimal

import pytest

from handsfree.dialogue import sound_alikes, state_machine
from handsfree.dialogue.questions.readings import ReadingsQuestion
from handsfree.dialogue.questions.which_value import WhichValueQuestion, ask_which_value
from handsfree.dialogue.turn import Turn

from ...talk import Talk
from .places import LEFT_HOLD

QUESTION = WhichValueQuestion


def ask(talk: Talk) -> None:
    """At a hold-open time: fifty seconds are no usual opening time, and so no rival there."""
    talk.go_to(LEFT_HOLD)
    talk.says("fifteen", "negative")


@pytest.fixture
def asked(talk) -> Talk:
    ask(talk)
    return talk


def test_both_values_are_named(asked):
    assert asked.says("say again") == ["Fifteen or fifty: one five, or five zero?"]


@pytest.mark.parametrize(
    ("said", "value"), [("one five", "15"), ("five zero", "50"), ("fifty seconds", "50")]
)
def test_the_value_that_is_chosen_is_read_back(asked, said, value):
    asked.says(said)
    question = asked.state.pending
    assert isinstance(question, ReadingsQuestion)
    (item,) = question.items
    assert item.value == Decimal(value)
    assert (item.rival, item.doubt, item.second_ear) == (None, None, None)


def test_the_sound_is_that_of_the_choice(asked):
    choice = asked.heard("five zero").model_copy(update={"clip": "choice.flac"})
    asked._take(state_machine.answer(asked.state, choice, asked.now_s))
    (item,) = asked.state.pending.items
    assert item.clip == "choice.flac"


def test_the_choice_is_not_compared_with_other_values_by_its_sound(asked):
    said = asked.language.parse("fifteen")
    assert sound_alikes.quantities_to_compare(asked.state, said, asked.heard("fifteen").rival) == ()


def test_another_reading_replaces_both(asked):
    asked.says("left leaf opening time six")
    assert [str(item.value) for item in asked.state.pending.items] == ["6"]


def test_a_correction_is_about_the_refused_value(asked):
    asked.says("correction eighteen")
    (item,) = asked.state.pending.items
    assert (str(item.value), item.quantity) == ("18", "hold_open_time")


@pytest.mark.parametrize("word", ["negative", "disregard"])
def test_both_can_be_refused(asked, word):
    assert asked.says(word)[0].startswith("Dropped.")
    assert asked.state.pending is None


def test_affirm_does_not_say_which(asked):
    assert asked.says("affirm") == ["Fifteen or fifty: one five, or five zero?"]


def test_without_a_plausible_rival_nothing_is_asked(talk):
    talk.go_to(LEFT_HOLD)
    talk.says("six")
    assert not ask_which_value(Turn(talk.state), talk.state.pending)


def test_several_readings_have_no_single_rival(talk):
    talk.go_to(LEFT_HOLD)
    talk.says("fifteen")
    several = talk.state.pending.with_readings(talk.state.pending.items * 2)
    assert not ask_which_value(Turn(talk.state), several)
