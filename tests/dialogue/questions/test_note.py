"""Asking for the words of a note, or of a defect."""

from __future__ import annotations

import pytest

from handsfree.dialogue.questions.note import NoteQuestion
from handsfree.journal import events as ev

from ...talk import Talk

QUESTION = NoteQuestion
SWINGS_FREE = "swings-free:left leaf"


def ask(talk: Talk) -> None:
    talk.go_to(SWINGS_FREE)
    talk.says("note")


def ask_for_defect(talk: Talk) -> None:
    talk.go_to(SWINGS_FREE)
    talk.says("not in order", "affirm")


def notes(talk: Talk) -> list[str]:
    return [body.text for body in talk.of(ev.NoteKept)]


@pytest.mark.parametrize("words", ["the closer leaks", "it slams", "the frame is bent"])
def test_any_words_are_the_note(talk, words):
    ask(talk)
    talk.says(words)
    assert notes(talk) == [words]
    assert talk.state.pending is None and talk.state.progress.at == SWINGS_FREE


@pytest.mark.parametrize(
    ("asks", "name"), [(ask, "note_go_ahead"), (ask_for_defect, "what_is_wrong")]
)
def test_it_is_repeated(talk, asks, name):
    asks(talk)
    assert talk.says("say again") == [talk.state.words.say(name)]
    assert notes(talk) == []


def test_after_a_stop_the_next_words_are_no_note(talk):
    ask(talk)
    talk.says("stop")
    assert talk.says("carry on") == ["Swing the left leaf by hand. Does it swing freely?"]
    talk.says("where am i")
    assert notes(talk) == []


def test_after_a_pause_the_note_is_asked_for_again(talk):
    ask(talk)
    talk.says("stand by")
    assert talk.says("carry on") == ["Go ahead with the note."]


def test_disregard_drops_a_note(talk):
    ask(talk)
    assert talk.says("disregard")[0] == "Dropped."
    assert notes(talk) == [] and talk.state.progress.at == SWINGS_FREE


def test_the_words_of_a_defect_end_the_step_as_failed(talk):
    ask_for_defect(talk)
    talk.says("it binds at the floor")
    assert notes(talk) == ["it binds at the floor"]
    assert talk.state.progress.ended[SWINGS_FREE] == "failed"


def test_a_defect_without_words_still_fails(talk):
    ask_for_defect(talk)
    talk.says("disregard")
    assert notes(talk) == [] and talk.state.progress.ended[SWINGS_FREE] == "failed"


def test_a_note_of_one_breath_asks_nothing_and_the_open_question_comes_back(talk):
    talk.go_to("opening-time:left leaf")
    (readback,) = talk.says("six point two")
    assert talk.says("note the closer leaks")[-1] == readback
    assert notes(talk) == ["note the closer leaks"]
