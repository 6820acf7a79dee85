"""The nine rules of the conversation, one section each."""

from __future__ import annotations

from decimal import Decimal

import pytest

from handsfree.job.opening import Side
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Subject
from handsfree.journal import events as ev

LEFT_OPENING = "opening-time:left leaf"


def at_the_times(talk):
    talk.go_to(LEFT_OPENING)
    return talk


# 1. Nothing enters the job before it was read back and affirmed.


def test_a_reading_is_read_back_in_full_and_filed_only_when_affirmed(talk):
    at_the_times(talk)
    spoken = talk.says("left leaf opening time six point two")
    assert spoken == ["Left leaf, opening time, six point two seconds."]
    assert talk.state.progress.job.readings == ()
    talk.says("affirm")
    (reading,) = talk.state.progress.job.readings
    assert (reading.value, reading.quantity) == (Decimal("6.2"), Quantity.OPENING_TIME)


@pytest.mark.parametrize("word", ["negative", "no", "wrong", "disregard"])
def test_refusal_files_nothing(talk, word):
    at_the_times(talk).says("six point two", word)
    assert talk.state.progress.job.readings == ()
    assert talk.state.pending is None


def test_a_choice_enters_the_job_only_when_affirmed(talk):
    talk.go_to("motor-hand:motor one")
    assert talk.says("left hand") == ["Motor one, hand, left hand."]
    assert talk.state.progress.job.opening.motors[0].hand is None
    talk.says("affirm")
    assert talk.state.progress.job.opening.motors[0].hand is Side.LEFT


# 2. A new reading replaces the waiting one; a reading for another leaf is welcome.


def test_a_new_reading_replaces_the_waiting_one_after_its_own_readback(talk):
    at_the_times(talk).says("six point two")
    assert talk.says("six point four") == ["Left leaf, opening time, six point four seconds."]
    talk.says("affirm")
    assert [r.value for r in talk.state.progress.job.readings] == [Decimal("6.4")]


def test_a_correction_keeps_what_it_leaves_out(talk):
    at_the_times(talk).says("right leaf opening time six point two")
    spoken = talk.says("correction six point three")
    assert spoken == ["Right leaf, opening time, six point three seconds."]


def test_a_reading_for_another_leaf_is_filed_and_its_step_is_not_asked_again(talk):
    at_the_times(talk)
    spoken = talk.says("right leaf opening time six point two", "affirm")
    assert spoken == ["Pass.", "Opening time of the left leaf."]
    assert talk.state.progress.at == LEFT_OPENING
    talk.go_to("hold-open:left leaf")
    talk.go_to("hold-open:right leaf")
    assert "opening-time:right leaf" in talk.state.progress.ended


def test_a_reading_for_both_leaves_is_filed_for_each(talk):
    at_the_times(talk)
    spoken = talk.says("both leaves opening time five point one")
    assert spoken == ["Both leaves, opening time, five point one seconds."]
    talk.says("affirm")
    subjects = [r.subject for r in talk.state.progress.job.readings]
    assert subjects == [Subject.LEFT_LEAF, Subject.RIGHT_LEAF]


def test_open_time_is_the_hold_open_time_where_a_step_waits_for_that(talk):
    at_the_times(talk)
    assert "opening time" in talk.says("open time six")[0]
    talk.says("negative")
    talk.go_to("hold-open:left leaf")
    assert talk.says("open time six") == ["Left leaf, hold open time, six seconds."]


def test_a_reading_whose_leaf_cannot_be_told_is_asked_for_it(talk):
    assert talk.says("opening time six point two") == ["Which leaf, left or right?"]
    assert talk.says("right leaf") == ["Right leaf, opening time, six point two seconds."]


# 3. Not understood: say again, an example, then spelling or typing. Silence: one reminder.


def test_what_is_not_understood_is_helped_in_three_stages(talk):
    at_the_times(talk)
    assert talk.says("nice weather") == ["Say again."]
    assert talk.says("nice weather") == ["Say the opening time as a number, or skip."]
    assert "digit by digit" in talk.says("nice weather")[0]
    talk.says("six point two")
    talk.says("affirm")
    assert talk.says("nice weather") == ["Say again."]


def test_silence_is_broken_once(talk):
    assert talk.is_silent(5) == []
    assert talk.is_silent(16) == ["Say done when it is done."]
    assert talk.is_silent(60) == []
    talk.says("done")
    assert talk.is_silent(25) != []


# 4. Implausible: the range and the question, never a clamp.


def test_an_implausible_value_is_asked_again_and_filed_only_when_it_is_repeated(talk):
    at_the_times(talk)
    spoken = talk.says("sixty two")
    assert spoken[0].startswith("Sixty two seconds. The usual opening time is from")
    talk.says("affirm")
    assert talk.state.progress.job.readings == ()
    assert talk.says("sixty two") == ["Left leaf, opening time, sixty two seconds."]
    talk.says("affirm")
    assert [r.value for r in talk.state.progress.job.readings] == [Decimal(62)]


def test_a_value_that_fits_another_unit_is_taken_only_with_its_unit_said_again(talk):
    """Nine one four is millimetres on a job in inches: said twice without a unit it is nothing."""
    at_the_times(talk)
    doubt = (
        "Nine hundred fourteen inches. The usual leaf width is from eighteen inches to sixty inches"
    )
    for _ in range(2):
        (spoken,) = talk.says("left leaf width nine one four")
        assert spoken == f"{doubt}, so it may be the unit. Say the value again, with its unit."
        talk.says("affirm")
        assert talk.state.progress.job.readings == ()
    assert talk.says("left leaf width nine one four millimetres") == [
        "Left leaf, leaf width, nine hundred fourteen millimetres."
    ]


def test_a_value_in_a_unit_that_does_not_fit_is_taken_when_the_unit_is_said_twice(talk):
    at_the_times(talk)
    assert "it may be the unit" in talk.says("left leaf width one point two inches")[0]
    assert talk.says("left leaf width one point two inches") == [
        "Left leaf, leaf width, one point two inches."
    ]
    assert talk.state.progress.job.readings == ()


# 5. A caution is said first and wants its own word.


@pytest.mark.parametrize("word", ["affirm", "yes", "done", "next"])
def test_a_caution_takes_no_other_word(talk, word):
    spoken = talk.says("done")
    assert spoken[-1].startswith("Caution. The sensors are inactive during the learn cycle")
    talk.says(word)
    assert talk.state.progress.cautioned == frozenset()
    assert talk.says("clear") == ["Start the learn cycle and watch it."]
    assert talk.of(ev.CautionAcknowledged) == [ev.CautionAcknowledged(key="learn", word="clear")]


# 6. Judged at once: a failure is a story, passing one word.


def test_a_failing_time_is_warned_of_adjusted_and_measured_again(talk):
    at_the_times(talk).says("two point five")
    spoken = " ".join(talk.says("affirm"))
    assert spoken.startswith("Fail.")
    assert "is 2.5 seconds" in spoken and "at least 3.5 seconds" in spoken
    assert "Slow the opening speed of the left leaf" in spoken
    assert talk.state.progress.at == LEFT_OPENING
    talk.says("four point five")
    assert talk.says("affirm")[0] == "Pass."
    job = talk.state.progress.job
    found = job.as_found(Quantity.OPENING_TIME, Subject.LEFT_LEAF)
    left = job.runs(Quantity.OPENING_TIME, Subject.LEFT_LEAF)
    assert ([r.value for r in found], [r.value for r in left]) == (
        [Decimal("2.5")],
        [Decimal("4.5")],
    )


def test_a_reading_that_fails_is_asked_for_as_often_as_it_takes_with_advice_each_time(talk):
    at_the_times(talk)
    leave = "Or say next to leave it as it is."
    for attempt in range(1, 6):
        spoken = " ".join(talk.says("two point five", "affirm"))
        assert "Slow the opening speed of the left leaf" in spoken
        assert (leave in spoken) == (attempt >= 3)
        assert talk.state.progress.at == LEFT_OPENING
    talk.says("next")
    assert talk.state.progress.ended[LEFT_OPENING] == "failed"


def test_too_close_to_call_asks_for_another_run_of_the_same_attempt(talk):
    at_the_times(talk).says("three point seven")
    assert talk.says("affirm")[0].startswith("Too close to call.")
    talk.says("three point seven", "affirm")
    runs = talk.state.progress.job.runs(Quantity.OPENING_TIME, Subject.LEFT_LEAF)
    assert [(r.attempt, r.run) for r in runs] == [(1, 1), (1, 2)]


# 7. Full first, brief after; say again gives the full one.


def test_prompts_are_brief_the_second_time_and_full_on_say_again(talk):
    talk.go_to("swings-free:left leaf")
    spoken = talk.says("in order", "affirm")
    assert spoken == ["Swing the right leaf."]
    assert talk.says("say again") == ["Swing the right leaf by hand. Does it swing freely?"]


# 8. Stop: silence, a word on the operator, and only 'carry on' goes on.


def test_stop_waits_for_carry_on(talk):
    spoken = talk.says("stop")
    assert "turn the operator off" in spoken[0] and "cannot stop the door" in spoken[0]
    assert talk.says("done") == []
    assert talk.state.progress.at == "power-off"
    assert talk.says("carry on") == ["Switch the power off and prove it dead."]


def test_a_waiting_reading_is_read_back_again_after_standing_by(talk):
    at_the_times(talk).says("six point two")
    talk.says("stand by", "affirm")
    assert talk.state.progress.job.readings == ()
    assert talk.says("carry on") == ["Left leaf, opening time, six point two seconds."]


# The opening's own geometry.


def test_two_motors_of_one_hand_on_a_pair_swinging_the_same_way_are_challenged(talk):
    talk.go_to("motor-hand:motor one")
    talk.says("left hand", "affirm")
    (spoken,) = talk.says("left hand")
    assert "needs opposite hands" in spoken
    talk.says("negative", "right hand", "affirm")
    assert talk.state.progress.job.opening.motors[1].hand is Side.RIGHT
    assert len(talk.of(ev.FactsChallenged)) == 1


# Moving about.


def test_a_step_is_skipped_with_a_reason_that_is_kept(talk):
    at_the_times(talk).says("skip", "the owner has the key")
    (ended,) = [b for b in talk.of(ev.StepEnded) if b.key == LEFT_OPENING]
    assert (ended.outcome, ended.reason) == ("skipped", "the owner has the key")


def test_a_step_that_must_be_done_is_not_skipped(talk):
    assert talk.says("skip") == ["This step cannot be skipped."]


def test_withdraw_takes_the_last_reading_back_and_returns_to_its_step(talk):
    at_the_times(talk).says("six point two", "affirm")
    assert talk.state.progress.at == "hold-open:left leaf"
    (spoken,) = talk.says("withdraw that")
    assert spoken.startswith("Withdraw: Left leaf, opening time, six point two seconds.")
    talk.says("affirm")
    assert talk.state.progress.at == LEFT_OPENING
    assert talk.state.progress.job.readings == ()


def test_not_in_order_asks_what_is_wrong_and_keeps_the_note(talk):
    talk.go_to("swings-free:left leaf")
    assert talk.says("not in order", "affirm") == ["Say in a few words what is wrong."]
    talk.says("the bottom pivot grinds")
    assert talk.of(ev.NoteKept)[0].text == "the bottom pivot grinds"
    assert talk.state.progress.ended["swings-free:left leaf"] == "failed"


def test_orientation(talk):
    assert talk.says("why") == ["Nobody works on a live operator."]
    assert talk.says("where am i")[0].startswith("Step 1 of 10, make safe.")
    assert talk.says("what is left")[0].startswith("10 steps left")
    assert talk.says("what is the limit") == ["This step has no limit."]
    at_the_times(talk)
    assert "at least 3.5 seconds" in talk.says("what is the limit")[0]
    talk.says("six point two", "affirm")
    assert talk.says("read back left leaf") == ["Left leaf, opening time, six point two seconds."]


def test_the_visit_closes_after_the_last_step_and_names_what_is_not_in_order(talk):
    at_the_times(talk)
    for _ in range(3):
        talk.says("two point five", "affirm")
    talk.says("next")
    for _ in range(3):
        spoken = talk.says("skip", "no time")
    assert not talk.state.progress.closed
    assert spoken[0].startswith("5 things are open: left leaf, opening time, not OK; ")
    assert spoken[1] == (
        "Left leaf, opening time, not OK: "
        "put right, taken out of service, done later, or refused by owner?"
    )
    assert talk.says("not applicable")[0].startswith("You found a fault there")
    talk.says("done later", "refused by owner", "not applicable", "not applicable")
    spoken = talk.says("done later")
    assert talk.state.progress.closed
    assert spoken[-1] == (
        "The visit is complete. Not OK: left leaf, opening time; left leaf, opening energy. "
        "2 of 4 checks pass; not checked: right leaf, hold open time."
    )
    assert [settled.word for settled in talk.of(ev.OpenSettled)] == [
        *("done_later", "refused", "not_applicable", "not_applicable", "done_later")
    ]


def test_what_was_filed_about_a_motor_can_be_read_back(talk):
    assert talk.says("read back motor one") == ["No reading for that yet."]
    talk.go_to("motor-hand:motor one")
    talk.says("left hand", "affirm", "motor one left leaf", "affirm")
    assert talk.says("read back motor one")[0] == "Motor one, left leaf, left hand."
    assert talk.says("read back motor two") == ["No reading for that yet."]
