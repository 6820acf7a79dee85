"""Free words of a visit fact."""

from __future__ import annotations

import pytest

from handsfree.dialogue import state_machine
from handsfree.dialogue.questions.visit_fact_words import VisitFactWordsQuestion
from handsfree.dialogue.state import Heard, Keep
from handsfree.job.reading import Taken
from handsfree.journal.paper_events import VisitFactKept

from ...talk import Talk

QUESTION = VisitFactWordsQuestion


def ask(talk: Talk) -> None:
    talk.says("parts used")


@pytest.mark.parametrize("words", ["two arm screws", "affirm", "six point two", "negative"])
def test_any_words_are_kept(talk, words):
    ask(talk)
    talk.says(words)
    assert [fact.value for fact in talk.of(VisitFactKept)] == [words]
    assert talk.state.pending is None


def test_spoken_words_are_kept_as_their_sound(talk):
    ask(talk)
    heard = Heard(text="two are screws", meaning=None, clip="000007.flac", taken=Taken.SAID)
    _, replies = state_machine.answer(talk.state, heard, 0.0)
    (kept,) = [
        reply.body
        for reply in replies
        if isinstance(reply, Keep) and isinstance(reply.body, VisitFactKept)
    ]
    assert (kept.value, kept.clip) == ("", "000007.flac")


def test_it_is_repeated(talk):
    ask(talk)
    assert talk.says("say again") == ["Go ahead: parts used."]


@pytest.mark.parametrize("word", ["disregard", "skip"])
def test_it_can_be_dropped(talk, word):
    ask(talk)
    assert talk.says(word)[0] == "Dropped."
    assert talk.of(VisitFactKept) == []
