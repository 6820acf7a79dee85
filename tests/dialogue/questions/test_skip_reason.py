"""Asking for the reason for skipping a step."""

from __future__ import annotations

import pytest

from handsfree.dialogue.questions.skip_reason import SkipReasonQuestion
from handsfree.journal import events as ev

from ...talk import Talk
from .places import LEFT_HOLD, LEFT_OPENING

QUESTION = SkipReasonQuestion


def ask(talk: Talk) -> None:
    talk.go_to(LEFT_OPENING)
    talk.says("skip")


@pytest.fixture
def asked(talk) -> Talk:
    ask(talk)
    return talk


@pytest.mark.parametrize("words", ["no time today", "affirm", "six point two", "done"])
def test_any_words_are_the_reason(asked, words):
    asked.says(words)
    ended = asked.of(ev.StepEnded)[-1]
    assert (ended.key, ended.outcome, ended.reason) == (LEFT_OPENING, "skipped", words)
    assert asked.state.progress.at == LEFT_HOLD


@pytest.mark.parametrize("word", ["negative", "disregard"])
def test_the_step_stays_when_it_is_dropped(asked, word):
    assert asked.says(word)[0] == "Dropped."
    assert asked.state.pending is None and asked.state.progress.at == LEFT_OPENING


def test_it_is_repeated(asked):
    assert asked.says("say again") == [asked.state.words.say("skip_reason")]
    assert asked.state.pending == SkipReasonQuestion()


def test_a_step_that_must_not_be_skipped_asks_nothing(talk):
    assert talk.says("skip") == [talk.state.words.say("no_skip")]
    assert talk.state.pending is None
