"""Words after 'note' that are an answer are questioned: 'note' may have been 'no'."""

from __future__ import annotations

import pytest

from handsfree.dialogue.questions.note_or_answer import NoteOrAnswerQuestion
from handsfree.journal import events as ev

from ...talk import Talk

QUESTION = NoteOrAnswerQuestion
SWINGS_FREE = "swings-free:left leaf"


def ask(talk: Talk) -> None:
    talk.go_to(SWINGS_FREE)
    talk.says("note", "no")


def notes(talk: Talk) -> list[str]:
    return [body.text for body in talk.of(ev.NoteKept)]


@pytest.mark.parametrize("words", ["no", "affirm", "six point two", "in order", "done"])
def test_an_answer_is_asked_about(talk, words):
    talk.go_to(SWINGS_FREE)
    assert talk.says("note", words) == [f"Was that a note: {words}?"]
    assert notes(talk) == []


@pytest.mark.parametrize("words", ["the closer leaks", "it slams"])
def test_what_answers_no_step_is_kept_at_once(talk, words):
    talk.go_to(SWINGS_FREE)
    talk.says("note", words)
    assert notes(talk) == [words]


def test_yes_keeps_it_as_it_was_said(talk):
    ask(talk)
    assert talk.says("yes")[0] == "Note kept."
    assert notes(talk) == ["no"] and talk.state.progress.at == SWINGS_FREE


def test_no_keeps_nothing_and_asks_the_step_again(talk):
    ask(talk)
    assert talk.says("no") == ["Swing the left leaf."]
    assert notes(talk) == [] and talk.state.pending is None
