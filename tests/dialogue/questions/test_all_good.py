"""The observations of a group that were all said to be good."""

from __future__ import annotations

import pytest

from handsfree.dialogue.questions.all_good import AllGoodQuestion
from handsfree.job.job import Fact
from handsfree.job.reading import LEAF_SUBJECTS
from handsfree.journal import events as ev

from ...talk import Talk

QUESTION = AllGoodQuestion
FACTS = tuple(Fact(subject=each, name="swings_freely", value="in_order") for each in LEAF_SUBJECTS)


def ask(talk: Talk) -> None:
    talk.go_to("swings-free:left leaf")
    question = AllGoodQuestion(facts=FACTS, called="swings freely", say="in order")
    talk.state = talk.state.model_copy(update={"pending": question})


@pytest.fixture
def asked(talk) -> Talk:
    ask(talk)
    return talk


def test_it_is_read_back(asked):
    assert asked.says("say again") == ["All good."]


def test_affirm_files_each_observation_and_ends_each_step(asked):
    asked.says("affirm")
    assert [body.fact for body in asked.of(ev.FactAccepted)] == list(FACTS)
    ended = [body.key for body in asked.of(ev.StepEnded) if body.key.startswith("swings-free")]
    assert sorted(ended) == ["swings-free:left leaf", "swings-free:right leaf"]


@pytest.mark.parametrize("word", ["negative", "disregard", "no"])
def test_it_is_dropped(asked, word):
    asked.says(word)
    assert asked.state.pending is None and not asked.of(ev.FactAccepted)
    assert asked.state.progress.at == "swings-free:left leaf"
