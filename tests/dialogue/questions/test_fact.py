"""A choice or an observation that was read back."""

from __future__ import annotations

import pytest

from handsfree.dialogue.questions.fact import FactQuestion
from handsfree.dialogue.questions.note import NoteQuestion
from handsfree.job.job import Fact
from handsfree.job.reading import LEAF_SUBJECTS

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


def test_what_several_steps_found_in_order_is_read_back_as_one(talk):
    talk.go_to("swings-free:left leaf")
    both = tuple(
        Fact(subject=leaf, name="swings_freely", value="in_order") for leaf in LEAF_SUBJECTS
    )
    question = FactQuestion(facts=both, called="swings freely", say="in order", listed="Arm tight.")
    talk.state = talk.state.model_copy(update={"pending": question})
    assert talk.says("say again") == ["Arm tight. All good."]
    talk.says("affirm")
    assert {"left leaf/swings_freely", "right leaf/swings_freely"} <= set(facts(talk))
