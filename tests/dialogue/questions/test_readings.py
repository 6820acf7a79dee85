"""Readings that were read back: the effect of each answer."""

from __future__ import annotations

import pytest

from handsfree.dialogue.questions.readings import ReadingsQuestion
from handsfree.dialogue.questions.which_value import WhichValueQuestion

from ...talk import Talk
from .places import CYCLE_S, LEFT_HOLD, at_the_opening_time, runs

QUESTION = ReadingsQuestion
SPOKEN = "Left leaf, opening time, six point two seconds."


def ask(talk: Talk) -> None:
    at_the_opening_time(talk)
    talk.says("six point two")


def filed(talk: Talk) -> list[str]:
    return [str(reading.value) for reading in talk.state.progress.job.readings]


def test_it_is_read_back_in_full(talk):
    ask(talk)
    assert talk.says("say again") == [SPOKEN]
    assert filed(talk) == []


def test_affirm_files_it_and_ends_the_step(talk):
    ask(talk)
    talk.says("affirm")
    assert filed(talk) == ["6.2"]
    assert talk.state.progress.at == LEFT_HOLD


@pytest.mark.parametrize("word", ["negative", "disregard"])
def test_a_refusal_drops_it(talk, word):
    ask(talk)
    assert talk.says(word)[0].startswith("Dropped.")
    assert talk.state.pending is None and filed(talk) == []


def test_a_refused_value_with_a_rival_in_sound_is_asked_about(talk):
    talk.go_to(LEFT_HOLD)
    talk.says("fifteen", "negative")
    assert isinstance(talk.state.pending, WhichValueQuestion)


def test_a_correction_replaces_the_value_and_keeps_the_rest(talk):
    ask(talk)
    assert talk.says("correction six point three") == [
        "Left leaf, opening time, six point three seconds."
    ]


def test_another_reading_replaces_it(talk):
    ask(talk)
    assert talk.says("right leaf hold open time five") == [
        "Right leaf, hold open time, five seconds."
    ]


def test_of_several_one_is_corrected_by_its_name(talk):
    at_the_opening_time(talk)
    talk.says("opening time six hold open time five")
    assert talk.says("correction seven") == [talk.state.words.say("which_quantity")]
    talk.says("correction hold open time seven", "affirm")
    assert filed(talk) == ["6", "7"]


def test_the_times_of_a_run_keep_their_leaf_through_a_correction(talk):
    at_the_opening_time(talk)
    talk.says("start the clock left leaf")
    runs(talk, *CYCLE_S)
    talk.says("correction latching time two point five")
    question = talk.state.pending
    assert question.timed_leaves == question.leaves == ("left leaf",)
    assert len(question.proposed) == 5


def test_the_limit_is_that_of_what_was_read_back(talk):
    ask(talk)
    about_the_step = talk.says("what is the limit")
    talk.says("left leaf hold open time six")
    assert talk.says("what is the limit") != about_the_step


def test_asking_something_else_again_and_again_is_a_loop(talk):
    ask(talk)
    spoken = [text for _ in range(6) for text in talk.says("why")]
    assert any("comes back" in text for text in spoken)


def test_other_readings_keep_its_leaves(talk):
    ask(talk)
    (item,) = talk.state.pending.items
    run = ReadingsQuestion(items=(item, item), leaves=("left leaf",))
    assert run.with_readings((item,)) == ReadingsQuestion(items=(item,), leaves=("left leaf",))
