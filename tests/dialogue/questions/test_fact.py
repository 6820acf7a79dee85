"""A choice or an observation that was read back."""

from __future__ import annotations

import pytest

from handsfree.dialogue.questions.fact import FactQuestion
from handsfree.dialogue.questions.note import NoteQuestion

from ...talk import Talk

QUESTION = FactQuestion
SPOKEN = "Motor one, hand, left hand."


def ask(talk: Talk) -> None:
    talk.go_to("motor-hand:motor one")
    talk.says("left hand")


@pytest.fixture
def asked(talk) -> Talk:
    ask(talk)
    return talk


def facts(talk: Talk) -> dict[str, str]:
    return {f"{fact.subject}/{fact.name}": fact.value for fact in talk.state.progress.job.facts}


def test_it_is_read_back(asked):
    assert asked.says("say again") == [SPOKEN]
    assert "motor one/hand" not in facts(asked)


def test_affirm_files_it_and_ends_the_step(asked):
    asked.says("affirm")
    assert facts(asked)["motor one/hand"] == "left"
    assert asked.state.progress.at == "motor-hand:motor two"


@pytest.mark.parametrize("word", ["negative", "disregard"])
def test_a_refusal_drops_it(asked, word):
    assert asked.says(word)[0].startswith("Dropped.")
    assert asked.state.pending is None and "motor one/hand" not in facts(asked)


def test_another_choice_replaces_it(asked):
    asked.says("right hand", "affirm")
    assert facts(asked)["motor one/hand"] == "right"


def test_there_is_no_reading_to_correct(asked):
    assert asked.says("correction six") == [asked.state.words.say("nothing_waits")]
    assert isinstance(asked.state.pending, FactQuestion)


def test_what_is_wrong_is_asked_for(talk):
    talk.go_to("swings-free:left leaf")
    talk.says("not in order", "affirm")
    assert talk.state.pending == NoteQuestion(defect=True)


def test_a_fact_about_another_step_ends_that_step(talk):
    talk.says("motor two right hand", "affirm")
    assert talk.state.progress.ended["motor-hand:motor two"] == "done"
    assert talk.state.progress.at == "power-off"


def test_one_answer_about_both_leaves_ends_both_steps(talk):
    talk.go_to("swings-free:left leaf")
    talk.says("both in order", "affirm")
    assert talk.state.progress.at == "motor-hand:motor one"
