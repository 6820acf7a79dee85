"""Asking whether to search for the cause of a complaint."""

from __future__ import annotations

import pytest

from handsfree.dialogue.questions.cause_search import CauseSearchQuestion
from handsfree.dialogue.questions.search_offer import SearchOfferQuestion
from handsfree.journal.search_events import SearchStarted

from ...talk import Talk
from .places import LEFT_OPENING

QUESTION = SearchOfferQuestion


def ask(talk: Talk) -> None:
    talk.says("it slams")


@pytest.fixture
def asked(talk) -> Talk:
    ask(talk)
    return talk


def test_a_complaint_is_read_back_at_any_step(talk):
    assert talk.says("it slams") == ["The door slams. Search for the cause?"]
    talk.says("disregard")
    talk.go_to(LEFT_OPENING)
    assert talk.says("it reverses") == ["The door reverses. Search for the cause?"]


def test_affirm_begins_the_search(asked):
    spoken = asked.says("affirm")
    assert spoken == ["Is it fast all the way shut, or only at the end?"]
    assert isinstance(asked.state.pending, CauseSearchQuestion)
    (started,) = asked.of(SearchStarted)
    assert started.tree == "slams" and len(started.sha256) == 64


@pytest.mark.parametrize("words", [("negative", "negative"), ("disregard",)])
def test_without_assent_the_visit_stays_where_it_was(asked, words):
    at = asked.state.progress.at
    assert asked.says(*words)[-1] == "Power off."
    assert asked.state.progress.at == at and asked.state.pending is None
    assert asked.of(SearchStarted) == []


def test_no_second_search_is_offered_during_one(asked):
    asked.says("affirm")
    before = asked.state.pending
    asked.says("stays open")
    assert asked.state.pending == before and len(asked.of(SearchStarted)) == 1


def test_a_choice_that_is_no_complaint_gets_the_hint_of_the_step(talk):
    assert talk.says("double egress") == ["Say done when it is done."]
