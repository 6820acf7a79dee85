"""Asking for consent to withdraw accepted readings."""

from __future__ import annotations

import pytest

from handsfree.dialogue.questions.withdrawal import WithdrawalQuestion
from handsfree.journal import events as ev

from ...talk import Talk
from .places import CYCLE_S, LEFT_OPENING, at_the_opening_time, runs

QUESTION = WithdrawalQuestion


def ask(talk: Talk) -> None:
    at_the_opening_time(talk)
    talk.says("six point two", "affirm", "withdraw that")


@pytest.fixture
def asked(talk) -> Talk:
    ask(talk)
    return talk


def test_the_reading_is_read_back(asked):
    (spoken,) = asked.says("say again")
    assert "Left leaf, opening time, six point two seconds." in spoken


def test_affirm_withdraws_it_and_returns_to_its_step(asked):
    asked.says("affirm")
    assert [body.reading_id for body in asked.of(ev.ReadingWithdrawn)] == ["r1"]
    assert asked.state.progress.at == LEFT_OPENING


def test_negative_keeps_it(asked):
    assert asked.says("negative")[0] == asked.state.words.say("kept")
    assert asked.of(ev.ReadingWithdrawn) == [] and asked.state.pending is None


def test_disregard_keeps_it(asked):
    assert asked.says("disregard")[0] == "Dropped."
    assert asked.of(ev.ReadingWithdrawn) == [] and asked.state.pending is None


def test_all_the_times_of_a_run_go_together(talk):
    at_the_opening_time(talk)
    talk.says("start the clock left leaf")
    runs(talk, *CYCLE_S)
    talk.says("affirm", "withdraw run one", "affirm")
    assert len(talk.of(ev.ReadingWithdrawn)) == 5


def test_without_a_reading_nothing_is_asked(talk):
    assert talk.says("withdraw that") == [talk.state.words.say("nothing_to_withdraw")]
    assert talk.state.pending is None
