"""Other readings that a sound may have been: which are kept, and which question follows."""

from __future__ import annotations

from decimal import Decimal

import pytest

from handsfree.dialogue import state_machine
from handsfree.dialogue.questions.readings import ReadingsQuestion
from handsfree.dialogue.questions.which_value import WhichValueQuestion
from handsfree.dialogue.sound_alikes import (
    ALIKE_NATS,
    OTHER_NATS,
    UNIT_NATS,
    USUAL_NATS,
    quantities_to_compare,
)
from handsfree.dialogue.sound_alikes import may_be as kept
from handsfree.job.quantity import Quantity
from handsfree.job.unit import Unit
from handsfree.journal import events as ev
from handsfree.visit.resume import readings_in, rival_of

OPENING, HOLD = "opening-time:left leaf", "hold-open:left leaf"


def hears(talk, line: str, *weighed: tuple[str, float]) -> list[str]:
    """Says a line whose sound may have been others too, each with its extra cost in nats."""
    said = talk.language.parse(line)
    rival = rival_of(talk.language, line)
    all_of_them = [(line, 100.0), *((text, 100.0 + over) for text, over in weighed)]
    texts = kept(talk.state, said, rival, all_of_them, talk.language.parse)
    heard = talk.heard(line).model_copy(
        update={"rival": rival, "may_be": readings_in(talk.language, texts)}
    )
    return talk._take(state_machine.answer(talk.state, heard, talk.now_s))


# --- which are weighed


def test_a_reading_is_weighed_among_those_of_its_quantity_and_of_the_step(talk, language):
    talk.go_to(OPENING)
    for said, quantities in (
        ("sixty two", (Quantity.OPENING_TIME,)),
        ("opening time fifteen", (Quantity.OPENING_TIME,)),
        ("sixteen cycles", (Quantity.OPENING_TIME,)),
        ("opening force six", (Quantity.OPENING_FORCE, Quantity.OPENING_TIME)),
        ("closing four seventeen", (Quantity.CLOSING_TIME, Quantity.OPENING_TIME)),
        ("open time six", ()),
        ("opening time six closing time five", ()),
        *(("correction fifteen", ()), ("affirm", ()), ("left hand", ())),
        *(("six point two", ()), ("opening time six", ()), ("left leaf six seconds", ())),
    ):
        rival = rival_of(language, said)
        assert quantities_to_compare(talk.state, language.parse(said), rival) == quantities, said


def test_none_is_weighed_where_it_is_no_answer(talk, language):
    sixty = language.parse("sixty")
    assert not quantities_to_compare(talk.state, sixty, None)  # a step of work
    talk.go_to(OPENING)
    assert quantities_to_compare(talk.state, sixty, None)
    talk.says("stand by")
    assert not quantities_to_compare(talk.state, sixty, None)


# --- a usual value beside one that is not


def test_an_unusual_value_is_read_back_as_the_usual_one_that_sounds_like_it_in_doubt(talk):
    """'Six point two' was heard as 'sixty two': 62 s is no opening time."""
    talk.go_to(OPENING)
    spoken = hears(talk, "sixty two", ("six point two", 2.5), ("sixty three", 0.1))
    assert spoken == ["I'm not sure. Left leaf, opening time, six point two seconds. Yes or no?"]
    assert talk.says("say again") == spoken
    assert talk.state.pending.items[0].doubt == "value"
    assert not talk.of(ev.ReadingAccepted)
    talk.says("affirm")
    assert [each.reading.value for each in talk.of(ev.ReadingAccepted)] == [Decimal("6.2")]


def test_whoever_says_the_unusual_value_again_is_taken_at_his_word(talk):
    talk.go_to(OPENING)
    hears(talk, "sixty two", ("six point two", 2.5))
    talk.says("negative")
    assert hears(talk, "sixty two", ("six point two", 2.5)) == [
        "Left leaf, opening time, sixty two seconds."
    ]


@pytest.mark.parametrize("over", [USUAL_NATS + 0.1, None])
def test_where_no_usual_value_is_near_it_is_asked_for_again(talk, over):
    talk.go_to(OPENING)
    others = [] if over is None else [("six point two", over)]
    (spoken,) = hears(talk, "sixty two", *others)
    assert spoken.startswith("Sixty two seconds. The usual opening time is from")


def test_a_unit_that_does_not_fit_is_sought_among_the_usual_readings(talk):
    """'Sixteen seconds' was heard as 'sixteen cycles'."""
    talk.go_to(OPENING)
    (spoken,) = hears(talk, "sixteen cycles", ("sixteen seconds", 1.0))
    assert spoken.startswith("I'm not sure. Left leaf, opening time, one six seconds.")


def test_the_quantity_that_the_step_waits_for_comes_before_one_that_sounds_like_it(talk):
    """'Opening force point one' was heard as 'opening four point one'."""
    talk.go_to(HOLD)
    (spoken,) = hears(talk, "opening four point one", ("hold open four point one", OTHER_NATS))
    assert spoken.startswith("I'm not sure. Left leaf, hold open time, four point one seconds.")
    talk.says("negative")
    (spoken,) = hears(talk, "opening four point one", ("hold open four point one", OTHER_NATS))
    assert spoken == "Left leaf, opening time, four point one seconds."
    talk.says("negative")
    (spoken,) = hears(talk, "opening five", ("hold open five", OTHER_NATS + 0.1))
    assert spoken == "Left leaf, opening time, five seconds."


# --- values that are nearly as likely


def test_a_rival_in_sound_that_is_near_is_asked_about_at_once(talk):
    talk.go_to(HOLD)
    asked = ["Left leaf, hold open time, one five seconds. Fifteen, not fifty?"]
    assert hears(talk, "fifteen", ("fifty", ALIKE_NATS)) == asked
    assert talk.says("say again") == asked
    assert talk.says("negative") == ["Fifteen or fifty: one five, or five zero?"]
    assert talk.says("five zero") == ["Left leaf, hold open time, five zero seconds."]
    talk.says("affirm")
    assert [each.reading.value for each in talk.of(ev.ReadingAccepted)] == [Decimal(50)]


def test_the_question_is_answered_by_affirm_or_by_the_other_value(talk):
    talk.go_to(HOLD)
    hears(talk, "fifteen", ("fifty", 0.5))
    assert hears(talk, "five zero") == ["Left leaf, hold open time, five zero seconds."]
    hears(talk, "fifteen", ("fifty", 0.5))
    talk.says("affirm")
    assert [each.reading.value for each in talk.of(ev.ReadingAccepted)] == [Decimal(15)]


def test_the_choice_is_answered_with_its_quantity_too_and_not_asked_again(talk):
    talk.go_to(HOLD)
    hears(talk, "fifteen", ("fifty", 0.5))
    talk.says("negative")
    assert isinstance(talk.state.pending, WhichValueQuestion)
    said = "hold open time fifteen seconds"
    assert hears(talk, said, ("hold open time fifty seconds", 0.5)) == [
        "Left leaf, hold open time, one five seconds."
    ]


def test_a_rival_that_is_far_is_not_asked_about(talk):
    talk.go_to(HOLD)
    assert hears(talk, "fifteen", ("fifty", ALIKE_NATS + 0.1)) == [
        "Left leaf, hold open time, one five seconds."
    ]


def test_a_rival_that_is_not_usual_is_not_asked_about(talk):
    talk.go_to(OPENING)
    assert hears(talk, "fifteen", ("fifty", 0.1)) == ["Left leaf, opening time, one five seconds."]


def test_any_value_that_is_as_likely_is_asked_about(talk):
    line = "left leaf opening force twelve"
    said, spelled = (f"Left leaf, opening force, {x} pounds force." for x in ("twelve", "one two"))
    other = f"{line} point five"
    assert hears(talk, line, (other, OTHER_NATS)) == [f"{spelled} One two, not one two point five?"]
    assert talk.says("negative") == ["One two, or one two point five?"]
    assert talk.says("one two point five") == [
        "Left leaf, opening force, one two point five pounds force."
    ]
    talk.says("negative")
    assert hears(talk, line, (other, OTHER_NATS + 0.1)) == [said]


def test_the_same_value_in_other_words_is_no_other_value(talk):
    line = "left leaf opening force twelve"
    others = ((f"{line} point zero", 0.1), ("left leaf opening force one two", 0.1))
    assert hears(talk, line, *others) == ["Left leaf, opening force, twelve pounds force."]


# --- a unit that may have been said


def test_a_unit_that_was_probably_said_is_named_with_the_doubt(talk):
    """Newtons came out lost, and the force in the unit of the job."""
    spoken = hears(
        talk,
        "left leaf opening force forty two",
        ("left leaf opening force forty two newtons", UNIT_NATS),
        ("left leaf opening force forty two pounds", UNIT_NATS - 1),
    )
    assert spoken == [
        "Left leaf, opening force, forty two newtons. I did not hear the unit well. Is it newtons?"
    ]
    assert (
        talk.state.pending.items[0].doubt == "unit"
        and talk.state.pending.items[0].unit is Unit.NEWTON
    )
    talk.says("affirm")
    (reading,) = [each.reading for each in talk.of(ev.ReadingAccepted)]
    assert (reading.value, reading.unit) == (Decimal(42), Unit.NEWTON)


def test_a_unit_that_costs_too_much_was_not_said(talk):
    line = "left leaf opening force twelve"
    assert hears(talk, line, (f"{line} newtons", UNIT_NATS + 0.1)) == [
        "Left leaf, opening force, twelve pounds force."
    ]
    assert isinstance(talk.state.pending, ReadingsQuestion)
    assert talk.state.pending.items[0].doubt is None


def test_a_unit_that_was_heard_is_doubted_only_where_another_is_as_likely(talk):
    """'Fifty seven newtons' was heard as 'fifty seven metres', and as pounds."""
    line, other = (f"left leaf opening force fifteen {unit}" for unit in ("pounds", "newtons"))
    said = "Left leaf, opening force, one five pounds force."
    assert hears(talk, line, (other, OTHER_NATS)) == [
        f"{said} I did not hear the unit well. Is it pounds force?"
    ]
    talk.says("negative")
    assert hears(talk, line, (other, OTHER_NATS + 0.1)) == [said]
