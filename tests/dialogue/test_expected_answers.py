"""The expected answers at every place in the conversation."""

from __future__ import annotations

from decimal import Decimal

import pytest

from handsfree.dialogue.answer_set import NOTHING, ExpectedReading
from handsfree.dialogue.expected_answers import expected_answers
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Subject
from handsfree.job.unit import Unit
from handsfree.language.meaning import Choice, Word

from ..guided import ENTRIES, guided
from .door_talk import TOLD, at_the_door, enter

AGREEMENT = {"affirm", "negative"}


def words(talk) -> set[str]:
    return set(expected_answers(talk.state).words)


def choices(talk) -> set[str]:
    return set(expected_answers(talk.state).choices)


def test_a_step_of_work_waits_for_done(talk):
    assert (words(talk), choices(talk)) == ({"done"}, set())


def test_a_caution_is_heard_at_once_or_not_at_all(talk):
    talk.says("done")
    assert talk.replies[-1].text.startswith("Caution.")
    assert expected_answers(talk.state) == NOTHING
    talk.says("clear")
    assert words(talk) == {"done"}


def test_an_observation_waits_for_both_of_its_answers(talk):
    talk.says("done", "clear", "done")
    assert choices(talk) == {"in_order", "not_in_order"}
    assert expected_answers(talk.state).read_back


@pytest.mark.parametrize(
    ("step", "good", "bad"),
    [("power-off", "locked_out", "not_locked"), ("proven-dead", "proved_dead", "still_live")],
)
def test_a_lock_out_waits_for_its_bad_case_as_for_its_own_word(step, good, bad):
    talk, _ = at_the_door(TOLD, "controller-replaced-single", "en")
    enter(talk, step)
    if step == "proven-dead":
        talk.says("clear")
    assert words(talk) == {good, bad}


def test_a_readback_waits_for_the_refusal_as_for_the_assent(talk):
    talk.go_to("opening-time:left leaf")
    assert not words(talk) and not choices(talk)  # a number is waited for
    talk.says("six point two")
    assert words(talk) == AGREEMENT
    assert not expected_answers(talk.state).read_back
    talk.says("affirm", "withdraw that")
    assert words(talk) == AGREEMENT


def test_what_is_said_in_free_words_is_never_sought_again(talk):
    talk.says("done", "clear", "done", "not in order", "affirm")
    assert talk.replies[-1].text == "Say in a few words what is wrong."
    assert expected_answers(talk.state) == NOTHING


@pytest.mark.parametrize("word", ["stop", "stand by"])
def test_nothing_is_sought_while_it_stands_by(talk, word):
    talk.says(word)
    assert expected_answers(talk.state) == NOTHING


def test_a_choice_waits_for_what_the_step_offers(talk):
    talk.go_to("motor-hand:motor one")
    assert choices(talk) == {"left", "right"}


def test_what_fits_is_of_the_kind_and_value_that_is_waited_for(talk, language):
    talk.go_to("motor-hand:motor one")
    now = expected_answers(talk.state)
    assert now.fits(Choice(value="left", noun="hand"))
    for other in ("push", "in order", "affirm", "six point two", "stop"):
        assert not now.fits(language.parse(other)), other
    assert not now.fits(None)
    assert not now.fits(Word(kind="affirm"))


def test_what_a_controller_shows_is_waited_for_at_its_guide_alone(talk, language):
    shown = language.parse("it shows victor whiskey")
    assert not expected_answers(talk.state).fits(shown)
    guided(talk)
    for _ in range(ENTRIES):
        answers = expected_answers(talk.state)
        assert answers.codes and answers.fits(shown)
        talk.says("next")


def test_a_reading_is_waited_for_with_its_quantity_and_a_usual_value(talk, language):
    talk.go_to("opening-time:left leaf")
    now = expected_answers(talk.state)
    assert now and now.read_back and now.reading.quantity is Quantity.OPENING_TIME
    for said in ("opening time six point two", "left leaf opening time six seconds"):
        assert now.fits(language.parse(said)), said
    for said in (
        *("six point two", "left leaf six point two", "closing time six point two"),
        *("right leaf opening time six point two", "both leaves opening time six"),
        *("opening time sixty two", "open time six", "opening speed six", "correction six"),
        *(
            "start the clock",
            "affirm",
            "done",
            "skip",
            "left leaf opening time six closing time five",
        ),
    ):
        assert not now.fits(language.parse(said)), said


def test_a_caution_before_a_reading_comes_first(talk):
    """The step is the same, and nothing of it is sought before the caution was answered."""
    talk.go_to("opening-time:left leaf")
    task = talk.state.task
    step = task.step.model_copy(update={"caution": "Mind the leaf.", "word": "clear"})
    procedure = talk.state.procedure
    steps = tuple(step if each.id == step.id else each for each in procedure.steps)
    state = talk.state.model_copy(
        update={"procedure": procedure.model_copy(update={"steps": steps})}
    )
    assert state.task.step.caution and expected_answers(state) == NOTHING


def test_the_clock_may_be_started_by_ear_where_a_time_is_waited_for(talk, language):
    talk.go_to("opening-time:left leaf")
    talk.state = talk.state.model_copy(update={"times_by_ear": True})
    now = expected_answers(talk.state)
    assert now.fits(language.parse("start the clock"))
    assert now.fits(language.parse("start the clock left leaf"))
    assert not now.fits(language.parse("start the clock right leaf"))
    assert not now.fits(language.parse("start the clock both leaves together"))
    talk.says("six point two")
    assert expected_answers(talk.state).reading is None


def test_a_setting_has_to_be_on_the_scale_of_the_controller(language):
    waits = ExpectedReading(
        quantity=Quantity.OPENING_SPEED,
        subject=Subject.LEFT_LEAF,
        unit=Unit.STEP,
        scale=(Decimal(1), Decimal(40), Decimal(1)),
    )
    assert waits.fits(language.parse("opening speed eighteen"))
    for said in ("opening speed eighty", "opening speed one point five", "opening speed zero"):
        assert not waits.fits(language.parse(said)), said


@pytest.mark.parametrize(
    ("said", "fits"),
    [
        ("opening force ten pounds", True),  # of force, where a force is meant
        ("opening force forty newtons", True),
        ("opening force forty", True),
        ("opening force four hundred newtons", False),
    ],
)
def test_a_force_may_be_said_in_pounds(language, said, fits):
    waits = ExpectedReading(
        quantity=Quantity.OPENING_FORCE, subject=Subject.LEFT_LEAF, unit=Unit.NEWTON
    )
    assert waits.fits(language.parse(said)) is fits
