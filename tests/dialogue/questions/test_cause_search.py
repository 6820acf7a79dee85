"""A running search for a cause: its checks, its remedy, and the proof of the cure."""

from __future__ import annotations

import pytest

from handsfree.dialogue.questions.cause_search import CauseSearchQuestion
from handsfree.dialogue.questions.open_item import OpenItemQuestion
from handsfree.journal import events as ev
from handsfree.journal.search_events import SearchAnswered, SearchEnded
from handsfree.procedure.loader import parse_procedure
from handsfree.visit_record.progress import replay

from ...talk import PROCEDURE, Talk
from .places import at_the_close_out

QUESTION = CauseSearchQuestion


def ask(talk: Talk) -> None:
    talk.says("it slams", "affirm")


@pytest.fixture
def asked(talk) -> Talk:
    ask(talk)
    return talk


def still_open(talk: Talk) -> list[str]:
    return [fault.what for fault in talk.state.progress.faults if fault.open]


def test_a_cure_ends_it_and_the_visit_is_where_it_was(asked):
    at = asked.state.progress.at
    assert asked.says("at the end") == ["Open another door or a window. Does it still slam?"]
    assert "one and a half seconds" in asked.says("affirm")[0]
    (found,) = asked.says("negative")
    assert found.startswith("Cause found. The latching speed is set too high.")
    assert asked.says("done") == ["Is the latching time within the limit, without a slam?"]
    assert asked.says("affirm")[0] == "Fixed. Back to where we were."
    (ended,) = asked.of(SearchEnded)
    assert (ended.outcome, ended.cause, ended.work) == ("cured", "latching-speed-too-high", "set")
    assert asked.state.progress.at == at and still_open(asked) == []


def test_every_answer_is_kept_with_what_was_asked(asked):
    asked.says("at the end", "affirm", "negative", "done", "affirm")
    assert [(each.at, each.answer) for each in asked.of(SearchAnswered)] == [
        ("where-it-slams", "end"),
        ("end-in-still-air", "yes"),
        ("latch-speed-ok", "no"),
        ("latching-speed-too-high", "done"),
        ("latching-speed-too-high", "yes"),
    ]
    assert asked.of(SearchAnswered)[0].asked == "Is it fast all the way shut, or only at the end?"


@pytest.mark.parametrize(
    ("lines", "outcome", "said"),
    [
        (("skip",), "not_found", "Cause not found"),
        (("at the end", "affirm", "negative", "skip"), "left", "Not fixed yet"),
        (("at the end", "affirm", "negative", "done", "negative"), "not_cured", "Not fixed"),
        (("disregard",), "stopped", "Search stopped"),
    ],
)
def test_without_a_cure_the_complaint_stays_open_to_the_end(asked, lines, outcome, said):
    spoken = asked.says(*lines)
    assert said in spoken[0]
    assert asked.of(SearchEnded)[0].outcome == outcome
    assert still_open(asked) == ["The door slams"]
    at_the_close_out(asked)
    for _ in range(8):
        if asked.state.pending is not None:
            assert isinstance(asked.state.pending, OpenItemQuestion)
            asked.says("done later")
    assert asked.state.progress.closed
    assert ("search/slams", "done_later") in [
        (body.key, body.word) for body in asked.of(ev.OpenSettled)
    ]


def test_a_caution_of_a_check_wants_its_word(asked):
    (spoken,) = asked.says("all the way")
    assert spoken.startswith("Caution. The leaf can fall shut.")
    assert "clear" in asked.says("affirm")[0]
    assert asked.of(SearchAnswered)[-1].at == "where-it-slams"
    assert asked.says("clear")[0].startswith("Switch the operator off")
    asked.says("affirm")
    assert asked.of(SearchAnswered)[-1].at == "slow-by-hand"


def test_another_answer_gets_the_choices(asked):
    assert asked.says("affirm") == ["Say all the way, the end."]
    asked.says("the end")
    assert asked.says("at the end")[0].startswith("Say affirm or negative")


def test_why_says_what_the_check_tells_apart(asked):
    assert asked.says("why") == ["The closing speed and the latching speed are two settings."]


def test_a_break_loses_nothing(asked):
    asked.says("at the end", "affirm")
    opened = ev.VisitOpened.model_construct(sheet=asked.state.progress.job.sheet)
    progress = replay([opened, *asked.kept])
    asked.state = asked.state.model_copy(update={"progress": progress, "pending": None})
    spoken = asked.resumes()
    assert "one and a half seconds" in spoken[-1]
    assert asked.says("negative")[0].startswith("Cause found.")


def test_a_tree_that_changed_in_a_break_begins_again(asked):
    asked.says("at the end", "affirm")
    running = asked.state.progress.search.model_copy(update={"sha256": "0" * 64})
    progress = asked.state.progress.model_copy(update={"search": running})
    asked.state = asked.state.model_copy(update={"progress": progress, "pending": None})
    assert asked.resumes()[-1] == "Is it fast all the way shut, or only at the end?"


def test_a_second_search_can_cure_what_the_first_did_not(asked):
    asked.says("skip")
    asked.says("it slams", "affirm", "at the end", "affirm", "negative", "done", "affirm")
    assert still_open(asked) == []


LEARN = """
[[step]]
id = "learned"
stage = "safe"
prompt = "Is the learn cycle complete?"
brief = "Learn cycle complete?"
waits = "observation"
fact = "learn_complete"
search = "learn_ends_in_error"
why = "An unfinished learn cycle leaves values that nobody chose."

[[step]]
id = "locked"
stage = "safe"
applies = ["not learn_complete is not_in_order"]
prompt = "Lock the settings."
brief = "Lock the settings."
waits = "done"
why = "Settings that are not locked can be lost."
"""


@pytest.fixture
def failed_learn(talk) -> Talk:
    """A learn cycle that failed, with its search offered."""
    procedure = parse_procedure(PROCEDURE + LEARN, "learn.toml", "0" * 64)
    talk.state = talk.state.model_copy(update={"procedure": procedure})
    talk.go_to("learned")
    spoken = talk.says("not in order", "affirm", "it shows an error")
    assert spoken[-1] == "The learn cycle ends in an error. Search for the cause?"
    return talk


def test_a_failed_learn_cycle_is_led_to_a_wrong_hand_and_proved_by_its_step(failed_learn):
    spoken = failed_learn.says("affirm", "negative", "negative")
    assert spoken[-1].startswith("Cause found. The hand of a motor is entered wrong")
    failed_learn.says("done", "clear", "done", "affirm")
    assert failed_learn.state.progress.at == "learned"
    failed_learn.says("in order", "affirm")
    assert failed_learn.state.progress.at == "locked"
    complaint, step = failed_learn.state.progress.faults[1], failed_learn.state.progress.faults[0]
    assert complaint.proved == "search" and step.proved == "observation"
    assert step.cause == complaint.cause and step.work == complaint.work == "set"


@pytest.mark.parametrize("lines", [("negative",), ("affirm", "skip"), ("affirm", "disregard")])
def test_after_a_failed_learn_cycle_nothing_is_locked(failed_learn, lines):
    failed_learn.says(*lines)
    assert failed_learn.state.progress.ended["learned"] == "failed"
    assert "locked" not in [task.key for task in failed_learn.state.tasks]
    assert failed_learn.state.progress.at != "locked"


@pytest.fixture
def to_learn(talk) -> Talk:
    """Crossed motors with the cables changed: the door has to learn again."""
    talk.says("learn cycle failed", "affirm", "no", "no", "done")
    return talk


def test_a_learn_cycle_is_not_run_again_before_the_path_is_clear(to_learn):
    ask = to_learn.says("say again")[-1]
    assert ask.startswith("Caution. The sensors are inactive during the learn cycle.")
    for word in ("done", "affirm", "skip"):
        assert to_learn.says(word) == ["Say clear when it is clear."]
    (learn,) = to_learn.says("clear")
    assert learn.startswith("Run the learn cycle again.")
    asked = [each.asked for each in to_learn.of(SearchAnswered)]
    assert to_learn.says("done") == ["Does the controller show that the learn cycle is complete?"]
    assert [each.asked for each in to_learn.of(SearchAnswered)] == [*asked, learn]
    to_learn.says("affirm")
    assert to_learn.of(SearchEnded)[-1].outcome == "cured"


def test_after_a_break_the_path_has_to_be_clear_once_more(to_learn):
    to_learn.says("clear")
    opened = ev.VisitOpened.model_construct(sheet=to_learn.state.progress.job.sheet)
    progress = replay([opened, *to_learn.kept])
    to_learn.state = to_learn.state.model_copy(update={"progress": progress, "pending": None})
    assert to_learn.resumes()[-1].startswith("Caution. The sensors are inactive")
    assert to_learn.says("done") == ["Say clear when it is clear."]


def test_a_check_has_a_caution_of_its_own_after_a_learn_cycle(to_learn):
    """The word for one caution answers no other."""
    to_learn.says("clear", "done", "affirm", "it slams", "affirm")
    assert to_learn.says("all the way")[0].startswith("Caution.")


def test_not_knowing_says_how_to_look_and_asks_again(asked):
    kept = len(asked.of(SearchAnswered))
    spoken = asked.says("I don't know")
    assert spoken[0].startswith("Have a look first.")
    assert spoken[1] == "Is it fast all the way shut, or only at the end?"
    assert len(asked.of(SearchAnswered)) == kept
    assert asked.says("at the end") == ["Open another door or a window. Does it still slam?"]


def test_a_check_that_stays_unknown_ends_the_search_without_a_guess(asked):
    asked.says("I don't know", "I don't know")
    (ended,) = asked.of(SearchEnded)
    assert (ended.outcome, ended.cause) == ("not_found", None)
    assert still_open(asked)


def test_a_cure_that_nobody_saw_is_not_proved(asked):
    asked.says("at the end", "affirm", "negative", "done", "I don't know", "I don't know")
    (ended,) = asked.of(SearchEnded)
    assert ended.outcome == "not_cured" and still_open(asked)
