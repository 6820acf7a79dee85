"""The technician's understanding of the tool's words, from the words alone."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from handsfree.dialogue import sentences as spoken
from handsfree.job.job import Fact, Job
from handsfree.job.quantity import QUANTITIES, Quantity
from handsfree.job.reading import Subject
from handsfree.job.unit import Measure, Unit
from handsfree.language.wording import wording
from handsfree.procedure.loader import load_procedure
from handsfree.procedure.task_selection import tasks
from handsfree.rehearsal.prompt_comprehension import PromptListener

W = wording()


def test_every_prompt_of_the_procedure_is_known_in_full_and_in_brief(listener, pair):
    procedure = load_procedure("controller-replaced-pair")
    known = 0
    for task in tasks(procedure, Job.open(pair.sheet)):
        for text in (task.prompt, task.brief):
            heard = listener.understand(text)
            assert heard.kind == "prompt", text
            assert heard.step.quantity is task.step.quantity
            assert heard.subject is task.subject or task.step.for_each == "opening"
            known += 1
    assert known > 100


@given(
    st.sampled_from([Subject.LEFT_LEAF, Subject.RIGHT_LEAF]),
    st.sampled_from(list(Quantity)),
    st.decimals(0, 999, places=2),
)
def test_a_readback_is_heard_as_it_was_said(listener, subject, quantity, value):
    unit = QUANTITIES[quantity].unit
    said = spoken.readback(W, (subject,), quantity, Measure(value=value, unit=unit))
    (heard,) = listener.understand(said).readings
    assert (heard.subject, heard.quantity, heard.value) == (subject, quantity, value)
    assert heard.unit is (None if unit is Unit.STEP else unit)


@pytest.mark.parametrize("doubt", ["doubtful", "unit_doubtful", "rival_doubtful"])
def test_a_readback_in_doubt_is_heard_as_any_readback(listener, doubt):
    reading = "Left leaf, opening force, four two newtons."
    said = W.say(doubt, reading=reading, unit="newtons", one="Forty two", other="forty")
    heard = listener.understand(said)
    assert heard.kind == "readback"
    (one,) = heard.readings
    assert (one.quantity, one.value) == (Quantity.OPENING_FORCE, Decimal(42))
    assert one.unit is Unit.NEWTON


def test_several_readings_are_all_heard_where_one_of_them_is_in_doubt(listener):
    first, last = (
        "Left leaf, opening time, six seconds.",
        "Left leaf, opening force, one four newtons.",
    )
    said = W.say("rival_doubtful", reading=f"{first} {last}", one="Fourteen", other="forty")
    heard = listener.understand(said)
    assert heard.kind == "readback"
    assert [one.value for one in heard.readings] == [Decimal(6), Decimal(14)]


def test_which_of_two_values_it_was_is_a_question(listener):
    said = W.say("which_value", one_digits="Six point two", other_digits="six point five")
    assert listener.understand(said).kind == "which_value"
    asked = W.say("open_ask", what="left leaf, opening time")
    assert listener.understand(asked).kind == "open_ask"


def test_several_readings_of_one_breath_and_of_one_run(listener):
    breath = (
        "Left leaf, opening time, six point two seconds. Left leaf, closing time, five seconds."
    )
    one, two = listener.understand(breath).readings
    assert (one.quantity, one.value) == (Quantity.OPENING_TIME, Decimal("6.2"))
    assert (two.quantity, two.value) == (Quantity.CLOSING_TIME, Decimal("5"))
    run = (
        "Right leaf, opening time three point six one, total opening time five point two, "
        "hold open time six point zero, closing time four point nine, latching time two, seconds."
    )
    heard = listener.understand(run).readings
    assert [one.value for one in heard] == [Decimal(v) for v in ("3.61", "5.2", "6.0", "4.9", "2")]
    assert {one.subject for one in heard} == {Subject.RIGHT_LEAF}


@pytest.mark.parametrize(
    ("about", "called", "value"),
    [
        ((Subject.MOTOR_ONE,), "leaf", "left leaf"),
        ((Subject.LEFT_LEAF, Subject.RIGHT_LEAF), "swings freely", "OK"),
        ((Subject.LEFT_LEAF,), "swings freely", "not OK"),
        ((Subject.OPENING,), "lock", "strike"),
    ],
)
def test_a_fact_that_is_read_back(listener, about, called, value):
    facts = [Fact(subject=subject, name="x", value="y") for subject in about]
    heard = listener.understand(spoken.fact_readback(W, facts, called, value))
    assert heard.kind == "fact"
    assert (heard.values["name"], heard.values["value"]) == (called, value.lower())


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        (W.say("say_again"), "say_again"),
        (W.say("hear_badly", db=7), "hear_badly"),
        (W.say("yes_or_type"), "yes_or_type"),
        ("Dropped. Say the opening time as a number, or skip.", "wait"),
        ("Say affirm or negative.", "affirm_or_negative"),
        ("Fail. The opening time of the left leaf is 2.5 seconds.", "verdict"),
        ("Too close to call. That is near.", "verdict"),
        ("All pass.", "verdict"),
        ("Not judged: left leaf, opening time. Its width is needed first.", "verdict"),
        ("Filed: left leaf, leaf weight.", "filed_of"),
        ("I heard three point seven, or three point seven six?", "two_heard"),
        (
            "I heard right leaf, opening time, five seconds, or left leaf, opening time, five "
            "seconds?",
            "two_heard",
        ),
        (W.say("skip_reason"), "skip_reason"),
        (W.say("what_is_wrong"), "what_is_wrong"),
        (W.say("standing_by"), "standing_by"),
        (
            "Left leaf, opening time: "
            "put right, taken out of service, done later, or refused by owner?",
            "open_ask_wrong",
        ),
        (
            "Left leaf, height, skipped: done later, not applicable, or refused by owner?",
            "open_ask",
        ),
        ("There are 2 marks too many. Run it again?", "clock_run_again"),
        ("Another run should settle it. Run two?", "clock_another"),
        ("The weather is fine today.", ""),
    ],
)
def test_what_wants_an_answer(listener, text, kind):
    assert listener.understand(text).kind == kind


def test_advice_gives_its_figures(listener):
    heard = listener.understand(
        "Slow the opening of the left leaf to about 4.5 seconds, but first find out why its runs "
        "differ so much."
    )
    assert heard.kind == "advice"
    assert heard.values["aim"].startswith("4.5 seconds")


def test_a_challenge_is_a_fact_with_a_doubt(listener):
    said = W.say("hands_hold", said="Motor two, hand, left hand.", why=W.say("motors_of_one_hand"))
    heard = listener.understand(said)
    assert heard.kind == "hands_hold"
    assert (heard.values["about"], heard.values["value"]) == ("motor two", "left hand")


def test_told_to_adjust_he_knows_which(listener):
    heard = listener.understand(
        "Slow the closing speed of the right leaf. Then measure again and say the new reading."
    )
    assert (heard.kind, heard.subject) == ("adjust", Subject.RIGHT_LEAF)
    assert heard.step.quantity is Quantity.CLOSING_TIME


def test_where_am_i_tells_the_step(listener):
    prompt = listener.understand("Width of the left leaf?").step.prompt.format(subject="left leaf")
    heard = listener.understand(f"Step 7 of 80, survey as found. {prompt}")
    assert (heard.kind, heard.step.quantity) == ("position", Quantity.LEAF_WIDTH)


def test_a_question_by_the_values_of_the_other_leaf_is_a_group_without_steps(listener):
    items = "thirty six inches by eighty four inches, one hundred twenty pounds, weight from label"
    asked = W.say("group_as_other", subject="Right leaf", items=items)
    for text in (asked, f"{asked} {W.say('group_same_help')}", f"Next. {asked}"):
        heard = listener.understand(text)
        assert (heard.kind, heard.group) == ("group", ()), text


def test_a_question_for_all_settings_of_a_leaf_is_heard_as_its_first_step(pair):
    procedure = load_procedure("yearly-service")
    listener = PromptListener(W, procedure, pair.sheet.opening)
    names = "opening speed, backcheck speed, closing speed, latching speed, hold open setting"
    heard = listener.understand(W.say("settings_found", subject="right leaf", items=names))
    assert heard.kind == "prompt" and heard.step is not None
    assert (heard.step.id, heard.subject) == ("opening-speed-found", Subject.RIGHT_LEAF)
