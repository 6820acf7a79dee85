"""A short jog of each motor settles which leaf it drives, and its hand."""

from __future__ import annotations

from itertools import product

import pytest

from handsfree.dialogue.questions.jog import JogQuestion
from handsfree.dialogue.questions.jog_result import JogResultQuestion
from handsfree.job.handing import contradictions
from handsfree.job.opening import Side

from ...talk import Talk
from .test_hands import ask as ask_hands

QUESTION = JogQuestion
LEAF = "Jog motor one to open, and let go at once. Which leaf moved, left or right?"
WAY = "Did it move to open or to close? Say opening or closing."


def ask(talk: Talk) -> None:
    ask_hands(talk)
    talk.says("short jog")


@pytest.fixture
def asked(talk) -> Talk:
    ask(talk)
    return talk


def test_nothing_is_asked_before_the_caution_has_its_word(asked):
    for word in ("left", "opening", "affirm"):
        assert asked.says(word)[-1].startswith("Caution.")
    assert asked.says("clear") == [LEAF]


def test_it_asks_which_leaf_and_which_way_for_each_motor(asked):
    assert asked.says("clear") == [LEAF]
    assert asked.says("opening") == [LEAF]
    assert asked.says("left") == [WAY]
    assert asked.says("right") == [WAY]
    assert asked.says("opening")[-1].startswith("Jog motor two")


# Both motors were told to be left hand. A motor that drives its leaf to close has the other hand.
@pytest.mark.parametrize(
    ("jogs", "settled"),
    [
        (
            ("left", "opening", "right", "closing"),
            {1: (Side.LEFT, Side.LEFT), 2: (Side.RIGHT,) * 2},
        ),
        (("right", "closing", "left", "opening"), {1: (Side.RIGHT,) * 2, 2: (Side.LEFT,) * 2}),
    ],
)
def test_what_the_jogs_show_is_read_back_and_filed(asked, jogs, settled):
    spoken = asked.says("clear", *jogs)
    assert spoken[0] == "That fits."
    assert isinstance(asked.state.pending, JogResultQuestion)
    asked.says("affirm")
    opening = asked.state.progress.job.opening
    assert {m.number: (m.leaf, m.hand) for m in opening.motors} == settled
    assert contradictions(opening) == ()


def test_every_outcome_ends_without_a_contradiction_on_file(new_talk):
    """Whatever the jogs show: it is settled, or nothing of it is filed and the step stays open."""
    for jogs in product(("left", "right"), ("opening", "closing"), repeat=2):
        talk = new_talk()
        ask(talk)
        spoken = talk.says("clear", *jogs)
        if isinstance(talk.state.pending, JogResultQuestion):
            talk.says("affirm")
        else:
            assert spoken[0].startswith("That still can't be:")
            assert talk.state.pending is None
            assert talk.state.progress.at == "motor-hand:motor two"
        assert contradictions(talk.state.progress.job.opening) == ()


@pytest.mark.parametrize("word", ["negative", "disregard"])
def test_it_can_be_dropped(asked, word):
    assert asked.says("clear") and asked.says(word)[0].startswith("Dropped.")
    assert asked.state.pending is None
