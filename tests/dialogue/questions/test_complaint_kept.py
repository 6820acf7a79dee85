"""Whether a complaint that nobody searches now is to be kept as a fault."""

from __future__ import annotations

import pytest

from handsfree.dialogue.questions.cause_search import CauseSearchQuestion
from handsfree.dialogue.questions.complaint_kept import ComplaintKeptQuestion
from handsfree.journal.search_events import SearchEnded, SearchStarted

from ...talk import Talk
from ..door_talk import TOLD, at_the_door

QUESTION = ComplaintKeptQuestion
ASKED = "The door slams. Keep it as a fault?"


def ask(talk: Talk) -> None:
    talk.says("it slams", "negative")


@pytest.fixture
def asked(talk) -> Talk:
    ask(talk)
    return talk


def open_complaints(talk: Talk) -> list[str]:
    return [life.key for life in talk.state.progress.faults if life.open]


@pytest.mark.parametrize("word", ["no", "negative"])
def test_a_complaint_that_is_not_searched_is_not_lost_in_silence(talk, word):
    talk.says("it slams")
    assert talk.says(word) == [ASKED]


def test_it_is_kept_as_open_without_a_cause(asked):
    at = asked.state.progress.at
    assert asked.says("yes") == ["Fault kept.", "Power off."]
    assert asked.state.progress.at == at and asked.state.pending is None
    assert open_complaints(asked) == ["search/slams"]
    (ended,) = asked.of(SearchEnded)
    assert (ended.outcome, ended.cause) == ("stopped", None)


@pytest.mark.parametrize("word", ["no", "disregard"])
def test_what_was_misheard_is_dropped(asked, word):
    assert asked.says(word) == ["Dropped.", "Power off."]
    assert open_complaints(asked) == [] and asked.of(SearchStarted) == []


def test_one_that_is_open_already_is_not_asked_about_again(asked):
    asked.says("yes", "it slams")
    assert asked.says("no") == ["Power off."]
    assert open_complaints(asked) == ["search/slams"]


def test_it_can_still_be_searched_later(asked):
    asked.says("yes", "it slams", "yes")
    assert isinstance(asked.state.pending, CauseSearchQuestion)
    assert open_complaints(asked) == ["search/slams"]


@pytest.mark.parametrize(("language", "said"), [("en", "it slams"), ("es", "azota")])
def test_an_owner_on_the_daily_walk_is_not_led_to_the_settings(language, said):
    talk, _ = at_the_door(TOLD, "daily-check", language)
    (spoken,) = talk.says(said)
    assert isinstance(talk.state.pending, ComplaintKeptQuestion)
    assert spoken == {"en": ASKED, "es": "La puerta azota. ¿La guardo como falla?"}[language]
    talk.says({"en": "yes", "es": "sí"}[language])
    assert open_complaints(talk) == ["search/slams"]
    assert "what-to-do" in {task.step.id for task in talk.state.tasks}
