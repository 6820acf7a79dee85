"""Asking whether to time another run."""

from __future__ import annotations

import pytest

from handsfree.dialogue.questions.another_run import AnotherRunQuestion
from handsfree.dialogue.questions.clock_run import ClockRunQuestion
from handsfree.dialogue.questions.withdrawal import WithdrawalQuestion

from ...talk import Talk
from .places import CYCLE_S, at_the_opening_time, runs

QUESTION = AnotherRunQuestion


def ask(talk: Talk, leaves: str = "both leaves") -> None:
    at_the_opening_time(talk)
    talk.says(f"start the clock {leaves}")
    runs(talk, *CYCLE_S[:4])


@pytest.fixture
def asked(talk) -> Talk:
    ask(talk)
    return talk


def test_affirm_runs_it_for_the_same_leaf(asked):
    asked.says("affirm")
    assert asked.state.pending == ClockRunQuestion(leaves=("left leaf", "right leaf"))


def test_negative_goes_to_the_next_leaf(asked):
    asked.says("negative")
    assert asked.state.pending == ClockRunQuestion(leaves=("right leaf",))


def test_after_the_last_leaf_negative_returns_to_the_step(talk):
    ask(talk, "left leaf")
    assert talk.says("negative") == ["Opening time of the left leaf."]
    assert talk.state.pending is None


def test_disregard_drops_it(asked):
    assert asked.says("disregard")[0].startswith("Dropped.")
    assert asked.state.pending is None


def test_the_clock_may_be_started_for_another_leaf_instead(asked):
    asked.says("start the clock right leaf")
    assert asked.state.pending == ClockRunQuestion(leaves=("right leaf",))


def test_an_earlier_run_may_be_withdrawn_instead(talk):
    at_the_opening_time(talk)
    talk.says("start the clock left leaf")
    runs(talk, *CYCLE_S)
    talk.says("affirm", "start the clock left leaf")
    runs(talk, *CYCLE_S[:4])
    talk.says("withdraw run one")
    assert isinstance(talk.state.pending, WithdrawalQuestion)


def test_asking_something_else_again_and_again_is_no_loop(asked):
    for _ in range(6):
        assert not any("comes back" in text for text in asked.says("why"))
    assert isinstance(asked.state.pending, AnotherRunQuestion)
