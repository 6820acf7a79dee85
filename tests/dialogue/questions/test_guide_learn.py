"""The learn cycle as the guide of the controller tells it."""

from __future__ import annotations

import pytest

from handsfree.dialogue.questions.guide_learn import GuideLearnQuestion
from handsfree.job.reading import Subject
from handsfree.journal.controller_events import CodeShown, EntriesReopened, EntryEnded

from ...guided import guided, set_up
from ...talk import Talk

QUESTION = GuideLearnQuestion


def ask(talk: Talk) -> None:
    guided(talk)
    set_up(talk)


@pytest.fixture
def asked(talk) -> Talk:
    ask(talk)
    return talk


def learned(talk: Talk) -> str | None:
    return talk.state.progress.job.fact(Subject.OPENING, "learn_complete")


def test_it_is_prepared_run_and_its_ending_asked_for(asked):
    assert asked.says("say again") == ["Shut the door by hand, fully. Say next when it is done."]
    (run,) = asked.says("next")
    assert run.startswith("Hold the round and the square key") and "75 seconds" in run
    (ending,) = asked.says("next")
    assert ending.endswith("Did it go well?")
    assert asked.says("next") == ["Say yes, or say what it shows, or skip."]


@pytest.mark.parametrize("said", ["affirm", "it shows golf golf"])
def test_a_learn_cycle_that_went_well_answers_the_step_that_asks_for_it(asked, said):
    asked.says("next", "next", said)
    assert asked.of(EntryEnded)[-1].outcome == "made"
    assert learned(asked) == "in_order"
    ended = asked.state.progress.ended
    assert ended["let-it-learn"] == ended["learn-complete"] == "done"


def test_a_code_is_read_back_before_anything_is_made_of_it(asked):
    assert asked.says("next", "next", "it shows N1") == ["November one. Yes or no?"]
    assert not asked.of(CodeShown)
    said = asked.says("negative")
    assert said[0] == "Dropped." and not asked.of(CodeShown)


def test_a_wrong_hand_is_named_entered_again_kept_and_learned_again(asked):
    said = asked.says("next", "next", "it shows N1", "affirm")
    assert said[0].startswith("November one: Motor one turned against its leaf.")
    assert said[1].startswith("Hold the round key")
    assert asked.of(EntriesReopened)[-1].entries == ("open-up", "hand-one", "keep")
    said = asked.says("next", "next", "next")
    assert said[-1].startswith("The sensors are inactive during the learn cycle.")


def test_before_it_learns_once_more_the_path_has_to_be_clear_again(asked):
    asked.says("next", "next", "it shows N6", "affirm")
    for said in ("next", "affirm", "skip past it"):
        asked.says(said)
        assert asked.state.pending == GuideLearnQuestion(phase="clear")
    asked.says("clear")
    assert asked.state.pending == GuideLearnQuestion(phase="before")


def test_the_same_code_again_offers_its_search(asked):
    asked.says("next", "next", "it shows N3", "affirm", "clear", "next", "next")
    said = asked.says("it shows N3", "affirm")
    assert said[-1] == "The learn cycle stops early. Search for the cause?"
    asked.says("negative", "negative")  # neither searched for nor kept as a fault
    assert asked.state.pending == GuideLearnQuestion(phase="clear")


def test_a_code_that_the_guide_does_not_know_is_kept_and_searched_for(asked):
    said = asked.says("next", "next", "it shows quebec nine", "affirm")
    assert said[0].startswith("Quebec nine is not in the guide.")
    assert said[1] == "The learn cycle ends in an error. Search for the cause?"
    assert asked.of(CodeShown)[-1].means is None


def test_left_failed_the_step_that_asks_how_it_went_asks(asked):
    asked.says("next", "next", "skip")
    assert asked.of(EntryEnded)[-1].outcome == "left"
    assert asked.state.progress.at == "learn-complete" and learned(asked) is None
    asked.says("not in order", "affirm", "it shows a code", "negative")
    assert asked.state.progress.ended["learn-complete"] == "failed"


def test_when_its_step_is_entered_again_it_is_run_again(asked):
    asked.says("next", "next", "skip", "go back")
    assert asked.state.pending == GuideLearnQuestion(phase="before")
    asked.says("next", "next", "affirm")
    assert learned(asked) == "in_order"
