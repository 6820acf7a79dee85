"""Asking about the items that a visit leaves open, and the end of the visit."""

from __future__ import annotations

import pytest

from handsfree.dialogue.questions.open_item import OpenItemQuestion
from handsfree.dialogue.questions.withdrawal import WithdrawalQuestion
from handsfree.journal import events as ev

from ...talk import Talk
from .places import CYCLE_S, at_the_close_out, at_the_opening_time, runs

QUESTION = OpenItemQuestion


def ask(talk: Talk) -> None:
    at_the_close_out(talk)


@pytest.fixture
def asked(talk) -> Talk:
    ask(talk)
    return talk


def settled(talk: Talk) -> list[tuple[str, str]]:
    return [(body.key, body.word) for body in talk.of(ev.OpenSettled)]


@pytest.mark.parametrize("word", ["affirm", "negative", "disregard", "say again"])
def test_it_cannot_be_dropped(asked, word):
    before = asked.state.pending
    (spoken,) = asked.says(word)
    assert "left leaf, opening time" in spoken.lower()
    assert asked.state.pending == before and settled(asked) == []


@pytest.mark.parametrize(
    ("said", "word"),
    [
        ("done later", "done_later"),
        ("not applicable", "not_applicable"),
        ("refused by owner", "refused"),
    ],
)
def test_a_word_settles_it_and_the_next_item_follows(asked, said, word):
    asked.says(said)
    assert settled(asked) == [("opening-time:left leaf", word)]
    assert asked.state.pending.item.key == "hold-open:left leaf"


def test_the_visit_closes_after_the_last_item(asked):
    asked.says(*["done later"] * 4)
    assert asked.state.progress.closed and asked.state.pending is None


def test_what_is_wrong_cannot_be_not_applicable(talk):
    talk.go_to("swings-free:left leaf")
    talk.says("not in order", "affirm", "it binds")
    at_the_close_out(talk)
    assert talk.state.pending.item.kind == "wrong"
    spoken = talk.says("not applicable")
    assert spoken[0] == talk.state.words.say("not_not_applicable")
    assert settled(talk) == []


def test_going_back_is_carried_out(asked):
    asked.says("go back")
    assert asked.state.pending is None
    assert asked.state.progress.at == "hold-open:right leaf"


def test_a_stage_is_entered(asked):
    asked.says("go to the times")
    assert asked.state.pending is None and asked.state.progress.at.startswith("opening-time")


def test_a_reading_may_still_be_withdrawn(talk):
    talk.go_to("opening-time:left leaf")
    talk.says("six point two", "affirm")
    for _ in range(3):
        talk.says("skip", "no time")
    assert isinstance(talk.state.pending, OpenItemQuestion)
    talk.says("withdraw that")
    assert isinstance(talk.state.pending, WithdrawalQuestion)


def test_a_run_may_still_be_withdrawn(talk):
    at_the_opening_time(talk)
    talk.says("start the clock left leaf")
    runs(talk, *CYCLE_S)
    talk.says("affirm")
    for _ in range(2):
        talk.says("skip", "no time")
    assert isinstance(talk.state.pending, OpenItemQuestion)
    talk.says("withdraw run one")
    assert isinstance(talk.state.pending, WithdrawalQuestion)
