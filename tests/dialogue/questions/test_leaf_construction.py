"""An unknown weight is estimated from the construction of the leaf."""

from __future__ import annotations

from decimal import Decimal

import pytest

from handsfree.checks.leaf_weight import weight_of
from handsfree.dialogue.questions.leaf_construction import LeafConstructionQuestion
from handsfree.job.opening import Side
from handsfree.job.reading import Subject

from ...talk import Talk
from ..door_talk import TOLD, at_the_door, enter

QUESTION = LeafConstructionQuestion
WEIGHT = "weight:left leaf"


def ask(talk: Talk) -> None:
    question = LeafConstructionQuestion(leaf=Subject.LEFT_LEAF)
    talk.state = talk.state.model_copy(update={"pending": question})


@pytest.fixture
def at_weight() -> Talk:
    talk, _ = at_the_door(TOLD)
    enter(talk, "width:left leaf")
    talk.says("36 inches", "affirm", "84 inches", "affirm")
    assert talk.state.progress.at == WEIGHT
    return talk


# 36 by 84 in is 21 ft2; 18 gauge hollow metal with a honeycomb core weighs 3.5 lb/ft2 (trade chart,
# seen): 73.5 lb, and a fifth of doubt is from 58.8 to 88.2 lb.
def test_its_weight_is_said_with_its_doubt_and_the_step_is_over(at_weight):
    assert at_weight.says("I don't know")[0].startswith("What is the left leaf made of?")
    assert at_weight.says("eighteen gauge") == ["Left leaf, made of, hollow metal, eighteen gauge."]
    spoken = at_weight.says("affirm")
    assert spoken[0] == (
        "Left leaf, about 74 pounds, could be 59 pounds to 88 pounds. I'll use 88 pounds."
    )
    progress = at_weight.state.progress
    assert progress.ended[WEIGHT] == "done" == progress.ended["weight-source:left leaf"]
    leaf = progress.job.opening.leaf(Side.LEFT)
    assert weight_of(leaf).used.value == Decimal("88.200") and leaf.weight is None
    assert progress.at != WEIGHT


def test_without_its_size_no_weight_is_made_up():
    talk, _ = at_the_door(TOLD)
    enter(talk, WEIGHT)
    spoken = talk.says("I don't know", "solid wood", "affirm")
    assert spoken[0] == (
        "Measure the width and the height of the left leaf first, then I can work out its weight."
    )
    assert talk.state.progress.at == WEIGHT and WEIGHT not in talk.state.progress.ended


def test_a_weight_that_was_read_stays(at_weight):
    at_weight.says("150 pounds", "affirm")
    spoken = at_weight.says("left leaf is solid wood", "affirm")
    assert not any("about" in line for line in spoken)
    assert at_weight.state.progress.job.opening.leaf(Side.LEFT).weight.value == 150


def test_at_any_other_step_nobody_has_to_know_and_the_hint_helps(talk):
    assert talk.says("I don't know") == ["Say done when it is done."]


def test_affirm_is_no_construction(at_weight):
    (asked,) = at_weight.says("not sure")
    assert at_weight.says("affirm") == [asked]


@pytest.mark.parametrize("said", ["skip", "I don't know", "not sure"])
def test_who_knows_neither_leaves_the_weight_out_with_a_reason(at_weight, said):
    at_weight.says("not sure")
    assert at_weight.says(said) == ["Skip this step. Say the reason, or disregard."]
    at_weight.says("no label and no scale")
    assert at_weight.state.progress.ended[WEIGHT] == "skipped"
