"""Two recognizers and one value: marks, questions, and the effect of the answer."""

from __future__ import annotations

import pytest

from handsfree.dialogue import second_opinion
from handsfree.dialogue.questions.readings import ReadingsQuestion
from handsfree.dialogue.questions.two_heard import TwoHeardQuestion
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Subject
from handsfree.job.unit import Unit
from handsfree.journal import events as ev


@pytest.fixture
def timing(talk):
    """A conversation that waits for the opening time of the left leaf."""
    talk.go_to("opening-time:left leaf")
    return talk


def filed(talk) -> list[tuple[str, str | None]]:
    readings = [body.reading for body in talk.of(ev.ReadingAccepted)]
    return [(str(reading.value), reading.second_ear) for reading in readings]


def outcome(talk, line: str) -> str:
    return second_opinion.outcome(talk.state, talk.language.parse(line))


@pytest.mark.parametrize(
    "second",
    ["three point seven", "3.70", "opening time 3.7 s", "left leaf opening time 3.7 seconds"],
)
def test_a_value_that_both_hear_is_marked_and_nothing_is_said(timing, second):
    timing.says("opening time three point seven")
    assert outcome(timing, second) == "agreed"
    assert timing.second_ear_hears(second) == []
    timing.says("affirm")
    assert filed(timing) == [("3.7", "agreed")]


def test_where_they_differ_the_tool_asks_and_the_answer_decides(timing):
    timing.says("three point seven")
    assert outcome(timing, "3.76") == "differed"
    assert timing.second_ear_hears("3.76") == [
        "I heard three point seven, or three point seven six?"
    ]
    assert timing.says("three point seven six") == [
        "Left leaf, opening time, three point seven six seconds."
    ]
    timing.second_ear_hears("3.7")  # once the technician has decided, this ear has no say
    timing.says("affirm")
    assert filed(timing) == [("3.76", "chosen")]


@pytest.mark.parametrize("second", ["nice weather", "affirm", "left leaf", ""])
def test_what_is_no_value_changes_nothing(timing, second):
    timing.says("three point seven")
    before = timing.state
    assert outcome(timing, second) == "unclear"
    assert timing.second_ear_hears(second) == []
    assert timing.state == before
    timing.says("affirm")
    assert filed(timing) == [("3.7", None)]


def test_a_value_that_cannot_be_is_a_slip_of_the_second_ear(timing):
    timing.says("three point seven")
    assert outcome(timing, "370") == "unclear"
    assert timing.second_ear_hears("370") == []
    assert isinstance(timing.state.pending, ReadingsQuestion)


def test_a_value_that_is_seldom_so_is_marked_where_both_hear_it(timing):
    timing.says("ninety seconds")
    timing.says("ninety seconds")  # doubted, and said again
    assert isinstance(timing.state.pending, ReadingsQuestion)
    assert outcome(timing, "90 seconds") == "agreed"


def test_a_question_that_came_late_waits_for_the_answer_to_the_readback(timing):
    timing.says("three point seven")
    assert timing.second_ear_hears("3.76", late=True) == []
    assert timing.says("affirm") == ["I heard three point seven, or three point seven six?"]
    assert not timing.of(ev.ReadingAccepted)


@pytest.mark.parametrize(
    ("answer", "value"),
    [("three point seven", "3.7"), ("correction four point one", "4.1"), ("four point one", "4.1")],
)
def test_any_value_answers_the_question(timing, answer, value):
    timing.says("three point seven")
    timing.second_ear_hears("3.76")
    timing.says(answer, "affirm")
    assert [each for each, _ in filed(timing)] == [value]


@pytest.mark.parametrize("refusal", ["negative", "disregard"])
def test_both_can_be_refused(timing, refusal):
    timing.says("three point seven")
    timing.second_ear_hears("3.76")
    timing.says(refusal)
    assert timing.state.pending is None
    assert not timing.of(ev.ReadingAccepted)


def test_the_question_can_be_asked_for_again(timing):
    timing.says("three point seven")
    (question,) = timing.second_ear_hears("3.76")
    assert timing.says("say again") == [question]
    assert question in timing.says("affirm")


def test_a_unit_that_only_one_of_them_heard_is_asked_about(timing):
    timing.says("left leaf closing force twelve")
    asked = timing.second_ear_hears("left leaf closing force 12 newtons")
    assert asked == ["I heard twelve pounds force, or twelve newtons?"]
    timing.says("twelve newtons", "affirm")
    (reading,) = [body.reading for body in timing.of(ev.ReadingAccepted)]
    assert (reading.unit, reading.second_ear) == (Unit.NEWTON, "chosen")


def test_an_answer_that_fits_both_is_asked_again(timing):
    timing.says("left leaf closing force twelve")
    (question,) = timing.second_ear_hears("closing force 12 newtons")
    assert timing.says("twelve") == [question]


def test_another_leaf_or_quantity_is_asked_about_in_full(timing):
    timing.says("right leaf opening time three point seven")
    (asked,) = timing.second_ear_hears("left leaf opening time 3.7")
    assert asked == (
        "I heard right leaf, opening time, three point seven seconds, "
        "or left leaf, opening time, three point seven seconds?"
    )
    timing.says("left leaf opening time three point seven", "affirm")
    (reading,) = [body.reading for body in timing.of(ev.ReadingAccepted)]
    assert (reading.subject, reading.second_ear) == (Subject.LEFT_LEAF, "chosen")


def test_another_quantity_without_a_unit_is_asked_about_in_its_usual_one(timing):
    timing.says("left leaf opening time thirteen")
    assert timing.second_ear_hears("left leaf opening force 13") == [
        "I heard left leaf, opening time, one three seconds, "
        "or left leaf, opening force, one three pounds force?"
    ]


def test_of_several_in_one_breath_only_the_one_that_differs_is_asked_about(timing):
    timing.says("left leaf opening time six point two closing time five")
    asked = timing.second_ear_hears("left leaf opening time 6.2 closing time 5.9")
    assert asked == ["I heard five, or five point nine?"]
    timing.says("five point nine", "affirm")
    assert filed(timing) == [("6.2", "agreed"), ("5.9", "chosen")]


def test_a_second_difference_is_asked_about_after_the_first(timing):
    timing.says("left leaf opening time six point two closing time five")
    timing.second_ear_hears("left leaf opening time 6.3 closing time 5.9")
    assert timing.says("six point three") == ["I heard five, or five point nine?"]
    timing.says("five", "affirm")
    assert filed(timing) == [("6.3", "chosen"), ("5", "chosen")]


def test_another_number_of_values_is_not_compared(timing):
    timing.says("left leaf opening time six point two closing time five")
    assert outcome(timing, "left leaf opening time 6.2") == "unclear"


def test_a_correction_is_heard_a_second_time_too(timing):
    timing.says("three point seven")
    timing.second_ear_hears("3.7")
    timing.says("correction four point one")
    assert second_opinion.waits(timing.state)
    timing.second_ear_hears("correction 4.1")
    timing.says("affirm")
    assert filed(timing) == [("4.1", "agreed")]


def test_a_typed_value_is_not_compared(timing):
    timing.says("three point seven")
    (item,) = timing.state.pending.items
    typed = timing.state.pending.with_readings((item.model_copy(update={"taken": "typed"}),))
    assert not second_opinion.waits(timing.state.model_copy(update={"pending": typed}))


def test_without_a_value_that_waits_nothing_is_compared(timing):
    before = timing.state
    assert timing.second_ear_hears("3.7") == []
    assert timing.state == before


def test_what_was_asked_about_knows_both(timing):
    timing.says("three point seven")
    timing.second_ear_hears("3.76")
    assert isinstance(timing.state.pending, TwoHeardQuestion)
    one, other = timing.state.pending.two
    assert (str(one.value), str(other.value)) == ("3.7", "3.76")
    assert one.quantity is other.quantity is Quantity.OPENING_TIME
