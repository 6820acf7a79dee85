"""A controller's code, read back."""

from __future__ import annotations

from handsfree.dialogue.questions.code_shown import CodeShownQuestion
from handsfree.journal.controller_events import CodeShown, EntryEnded

from ...guided import guided
from ...talk import Talk

QUESTION = CodeShownQuestion


def ask(talk: Talk) -> None:
    talk.says("it shows echo four two")


def test_it_is_spelled_as_it_was_heard_and_kept_when_affirmed(talk):
    assert talk.says("the display shows E42") == ["Echo four two. Yes or no?"]
    said = talk.says("affirm")
    assert said[0].startswith("Echo four two is kept. There is no guide")
    assert talk.of(CodeShown) == [CodeShown(code="E42")]


def test_blinks_are_counted(talk):
    assert talk.says("the light blinks two times then three times") == [
        "Two times, then three times. Yes or no?"
    ]
    talk.says("affirm")
    assert talk.of(CodeShown)[-1].code == "2 3 blinks"


def test_at_any_step_a_code_of_the_guide_says_what_it_means_and_the_visit_is_where_it_was(talk):
    guided(talk)
    talk.says("go to times")
    at = talk.state.progress.at
    said = talk.says("it shows R7", "yes")
    assert said[0] == (
        "Romeo seven: The lock did not let go in time. Look at the strike and its wire."
    )
    assert talk.state.progress.at == at and talk.state.pending is None


def test_what_a_code_means_can_be_asked_at_any_time(talk):
    assert talk.says("what does alpha one mean")[0].startswith("There is no guide")
    guided(talk)
    assert talk.says("what does alpha one mean")[0] == "Alpha one: hand of motor one, one."
    assert talk.says("what does golf golf mean")[0] == "Golf golf: the learn cycle went well."
    assert talk.says("what does N4 mean")[0].startswith("November four: The entries were not kept")
    assert talk.says("what does quebec mean")[0].startswith("Quebec is not in the guide.")


def test_a_code_spelled_again_is_taken_as_the_answer_that_the_guide_waits_for(talk):
    guided(talk)
    talk.says("next")
    assert talk.says("it shows delta seven") == ["Delta seven. Yes or no?"]
    said = talk.says("it shows delta five")
    assert said == [
        "Motor one is on the left leaf. Entry two, set it to three. The display shows bravo three."
    ]
    assert talk.of(CodeShown) == []
    assert talk.of(EntryEnded)[-1].shown == "D5"


def test_spelled_again_as_another_unknown_code_it_is_read_back_again(talk):
    guided(talk)
    talk.says("next")
    assert talk.says("it shows delta seven", "it shows delta three") == ["Delta three. Yes or no?"]
    assert talk.of(CodeShown) == []


def test_a_number_alone_is_no_answer_to_a_code_read_back(talk):
    ask(talk)
    assert talk.says("five") == ["Echo four two. Yes or no?"]
