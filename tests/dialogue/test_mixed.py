"""Mixed initiative: several readings in one utterance, jumps, levels, pace, and the way out."""

from __future__ import annotations

from decimal import Decimal

import pytest

from handsfree.dialogue.state import Say, Tone, Voice
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Subject
from handsfree.journal import events as ev

LEFT_OPENING = "opening-time:left leaf"


# Several readings in one breath.


def test_two_readings_are_read_back_together_and_filed_by_one_affirm(talk):
    talk.go_to(LEFT_OPENING)
    spoken = talk.says("left leaf opening time six point two, hold open time five point eight")
    assert spoken == [
        "Left leaf, opening time, six point two seconds. "
        "Left leaf, hold open time, five point eight seconds."
    ]
    assert talk.state.progress.job.readings == ()
    talk.says("affirm")
    assert [(r.quantity, r.value) for r in talk.state.progress.job.readings] == [
        (Quantity.OPENING_TIME, Decimal("6.2")),
        (Quantity.HOLD_OPEN_TIME, Decimal("5.8")),
    ]
    assert talk.state.progress.at == "opening-time:right leaf"


def test_one_of_several_is_corrected_and_the_others_stay(talk):
    talk.go_to(LEFT_OPENING)
    talk.says("left leaf opening time six point two hold open time five")
    (spoken,) = talk.says("correction hold open time five point five")
    assert spoken == (
        "Left leaf, opening time, six point two seconds. "
        "Left leaf, hold open time, five point five seconds."
    )
    assert talk.says("correction five point one") == [
        "Say what you measured, too, for example: left leaf opening time six point two."
    ]


def test_a_value_that_sounds_like_another_usual_one_is_in_doubt_in_a_breath_too(talk):
    """'Fourteen newtons' and 'forty newtons' are both usual; the time has no rival."""
    talk.go_to(LEFT_OPENING)
    breath = "left leaf opening time six point two opening force fourteen newtons"
    read_back = "Left leaf, opening time, six point two seconds. Left leaf, opening force, "
    asked = [f"{read_back}one four newtons. Fourteen, not forty?"]
    assert talk.says(breath) == asked
    assert talk.says("say again") == asked
    assert talk.says("negative") == ["Fourteen or forty: one four, or four zero?"]
    assert talk.says("forty newtons") == [f"{read_back}four zero newtons."]
    talk.says("affirm")
    assert [r.value for r in talk.state.progress.job.readings] == [Decimal("6.2"), Decimal(40)]


def test_an_unusual_value_in_a_breath_is_read_back_as_the_usual_one_that_sounds_like_it(talk):
    talk.go_to(LEFT_OPENING)
    (spoken,) = talk.says("left leaf opening time fifty hold open time five")
    assert spoken == (
        "I'm not sure. Left leaf, opening time, one five seconds. Yes or no? "
        "Left leaf, hold open time, five seconds."
    )
    assert talk.says("negative", "left leaf opening time fifty hold open time five") == [
        "Left leaf, opening time, five zero seconds. Left leaf, hold open time, five seconds."
    ]


def test_of_two_doubtful_values_a_refusal_drops_all(talk):
    talk.go_to(LEFT_OPENING)
    talk.says("left leaf opening force fourteen newtons closing force fifteen newtons", "negative")
    assert talk.state.pending is None


def test_one_value_that_is_not_plausible_is_asked_for_again_before_any_is_read_back(talk):
    talk.go_to(LEFT_OPENING)
    (spoken,) = talk.says("left leaf opening time sixty two hold open time five")
    assert "The usual opening time is from" in spoken
    assert talk.state.pending is None


def test_one_that_fails_keeps_its_step_and_the_other_is_filed(talk):
    talk.go_to(LEFT_OPENING)
    talk.says("left leaf opening time two point five hold open time six", "affirm")
    assert talk.state.progress.at == LEFT_OPENING
    assert LEFT_OPENING not in talk.state.progress.ended
    assert talk.state.progress.ended["hold-open:left leaf"] == "done"


def test_the_leaf_is_asked_for_once_for_all_of_them(talk):
    assert talk.says("opening time six hold open time five") == ["Which leaf, left or right?"]
    (spoken,) = talk.says("right leaf")
    assert spoken.count("Right leaf") == 2


# One answer for both.


def test_one_answer_for_both_leaves_ends_both_steps(talk):
    talk.go_to("swings-free:left leaf")
    assert talk.says("both in order") == ["Left leaf and right leaf, swings freely, OK."]
    talk.says("affirm")
    assert {"swings-free:left leaf", "swings-free:right leaf"} <= talk.state.progress.ended.keys()
    assert talk.state.progress.at == "motor-hand:motor one"


# Jumps.


def test_go_to_a_stage_and_the_steps_left_behind_stay_open(talk):
    spoken = talk.says("go to times")
    assert spoken[0] == "One step that must not be skipped is still open before this."
    assert talk.state.progress.at == LEFT_OPENING
    for _ in range(4):
        talk.says("skip", "another day")
    assert talk.state.progress.at == "power-off"


def test_a_stage_that_this_visit_has_not_is_said_to_be_none(talk):
    assert talk.says("go to the signs")[0] == "This visit has no such stage."
    assert talk.state.progress.at == "power-off"


def test_a_jump_waits_until_what_was_read_back_is_answered(talk):
    talk.go_to(LEFT_OPENING)
    talk.says("six point two")
    assert talk.says("go to the times")[0] == "First answer this."


# Levels, tones and the voice.


def replies_to(talk, line):
    before = len(talk.replies)
    talk.says(line)
    return talk.replies[before:]


def test_brief_prompts_are_brief_from_the_first_time_and_say_again_is_full(talk):
    talk.says("speak less")
    assert talk.state.progress.level == "brief"
    talk.go_to("swings-free:left leaf")
    assert talk.says("say again") == ["Swing the left leaf by hand. Does it swing freely?"]
    talk.go_to(LEFT_OPENING)
    assert talk.kept[-1] == ev.StepEntered(key=LEFT_OPENING)


def test_tones_only_still_speaks_cautions_readbacks_and_answers(talk):
    talk.says("speak less", "speak less")
    done = replies_to(talk, "done")
    assert [reply.aloud for reply in done if isinstance(reply, Say)] == [True]
    assert Tone(sound="warning") in done  # the caution of the learn cycle
    silent = [reply for reply in replies_to(talk, "clear") if isinstance(reply, Say)]
    assert [(reply.role, reply.aloud) for reply in silent] == [("prompt", False)]
    asked = [reply for reply in replies_to(talk, "say again") if isinstance(reply, Say)]
    assert [reply.aloud for reply in asked] == [True]
    talk.go_to(LEFT_OPENING)
    said = [reply for reply in replies_to(talk, "six point two") if isinstance(reply, Say)]
    assert [(reply.role, reply.aloud) for reply in said] == [("readback", True)]


def test_the_level_is_kept_over_a_break(talk):
    talk.says("speak less")
    assert talk.of(ev.SpeechSet) == [ev.SpeechSet(level="brief")]
    assert talk.says("speak more") == ["Full prompts."]
    assert talk.says("speak more") == ["Full prompts."]
    assert len(talk.of(ev.SpeechSet)) == 2


def test_each_utterance_has_its_tone(talk):
    assert Tone(sound="heard") in replies_to(talk, "nice weather")
    assert Tone(sound="understood") in replies_to(talk, "why")
    assert Tone(sound="accepted") in replies_to(talk, "done")


@pytest.mark.parametrize("change", ["slower", "faster", "louder", "softer"])
def test_the_voice_is_changed_by_a_word(talk, change):
    assert Voice(change=change) in replies_to(talk, change)


# Repair.


def test_a_refused_value_with_a_rival_in_sound_becomes_a_choice_of_two(talk):
    talk.go_to("hold-open:left leaf")
    assert talk.says("fifteen") == ["Left leaf, hold open time, one five seconds."]
    assert talk.says("negative") == ["Fifteen or fifty: one five, or five zero?"]
    assert talk.says("affirm") == ["Fifteen or fifty: one five, or five zero?"]
    assert talk.says("five zero") == ["Left leaf, hold open time, five zero seconds."]
    talk.says("affirm")
    assert [r.value for r in talk.state.progress.job.readings] == [Decimal(50)]


def test_a_rival_that_is_not_plausible_is_no_choice(talk):
    talk.go_to(LEFT_OPENING)
    talk.says("fifteen")
    assert talk.says("negative")[0].startswith("Dropped.")


def test_after_the_choice_any_other_reading_is_welcome(talk):
    talk.go_to("hold-open:left leaf")
    talk.says("fifteen", "negative")
    assert talk.says("right leaf opening time six") == ["Right leaf, opening time, six seconds."]


def test_help_grows_with_every_miss_up_to_typing(talk):
    """W3C VoiceXML 2.1 (via 2.0, 5.2.4): of the prompts whose count is at most the number
    of events, the one with the highest count is played; the counter starts anew when
    something was understood."""
    counted = {
        1: "Say again.",
        2: "Say the opening time as a number, or skip.",
        3: "Spell the number digit by digit, or type it on the keyboard.",
        4: "I do not hear you well. Type it on the keyboard, or say stand by and move closer.",
    }
    talk.go_to(LEFT_OPENING)
    for event in range(1, 8):
        expected = counted[max(count for count in counted if count <= event)]
        assert talk.says("nice weather") == [expected]
    talk.says("why")
    assert talk.says("nice weather") == [counted[1]]


# Advice comes with its verdict, before the next question.


def test_advice_on_another_leaf_comes_before_the_next_question(talk):
    talk.go_to(LEFT_OPENING)
    spoken = talk.says("right leaf opening time two point five", "affirm")
    failed, _, advice, prompt = spoken
    assert failed.startswith("Fail. The opening time of the right leaf is 2.5 seconds")
    assert advice == "Slow the opening of the right leaf to about 4.5 seconds."
    assert prompt == "Opening time of the left leaf."
    assert talk.is_silent(3) == []


def test_advice_for_the_step_at_hand_comes_with_what_to_turn(talk):
    talk.go_to(LEFT_OPENING)
    spoken = talk.says("two point five", "affirm")
    assert "to about 4.5 seconds" in spoken[-2]
    assert spoken[-1] == (
        "Slow the opening speed of the left leaf. Then measure again and say the new reading."
    )


def test_a_step_whose_value_fails_already_says_what_to_turn(talk):
    talk.go_to(LEFT_OPENING)
    talk.says("right leaf opening time two point five", "affirm")
    spoken = talk.says("both leaves hold open time six", "affirm", "six", "affirm")
    assert talk.state.progress.at == "opening-time:right leaf"
    assert spoken[-1].startswith("Slow the opening speed of the right leaf.")
    assert "to about 4.5 seconds" in spoken[-2]


def test_a_failing_leaf_is_named_again_at_the_end_of_its_stage(talk):
    talk.go_to("swings-free:left leaf")
    talk.says("not in order", "affirm", "it rubs")
    spoken = talk.says("in order", "affirm")
    assert "Before we leave the make safe: not OK, left leaf, swings freely." in spoken


# Breaks.


def test_resuming_says_in_two_sentences_where_it_stands_and_what_is_wrong(talk):
    talk.go_to(LEFT_OPENING)
    talk.says("right leaf opening time two point five", "affirm")
    spoken = talk.resumes()
    assert spoken[0] == (
        "Picking up at step 7 of 10, times, 6 steps done. "
        "Not OK so far: right leaf, opening time; right leaf, opening energy."
    )
    assert spoken[0].count(". ") == 1


def test_a_visit_that_stands_at_its_close_out_is_resumed_there(talk):
    talk.go_to(LEFT_OPENING)
    for _ in range(4):
        talk.says("skip", "no time")
    talk.says("not applicable")
    assert talk.resumes()[-1].startswith("Left leaf, hold open time, skipped: done later")


def test_at_the_close_out_a_step_can_still_be_done(talk):
    talk.go_to(LEFT_OPENING)
    for _ in range(4):
        talk.says("skip", "no time")
    talk.says("go back")
    assert talk.state.progress.at == "hold-open:right leaf"
    talk.says("six", "affirm")
    assert talk.state.progress.ended["hold-open:right leaf"] == "done"
    talk.says("both leaves opening time six", "affirm")
    spoken = talk.says("left leaf hold open time six", "affirm")
    assert talk.state.progress.closed
    assert spoken[-1] == "The visit is complete. 8 of 8 checks pass."


def test_a_reading_for_a_skipped_step_takes_it_off_the_open_list(talk):
    talk.go_to(LEFT_OPENING)
    for _ in range(4):
        talk.says("skip", "no time")
    talk.says("both leaves opening time six", "affirm")
    assert talk.state.progress.ended[LEFT_OPENING] == "done"
    assert Subject.LEFT_LEAF in [r.subject for r in talk.state.progress.job.readings]


# Answers to something else do not count for the current step.


def test_a_plates_value_in_a_step_about_a_leaf_is_asked_what_it_is(talk):
    talk.go_to(LEFT_OPENING)
    assert talk.says("left plate forty two inches")[0].startswith("Say what you measured")
    assert talk.says("left leaf six point two") == [
        "Left leaf, opening time, six point two seconds."
    ]


def test_what_is_wrong_may_be_left_unsaid(talk):
    talk.go_to("swings-free:left leaf")
    talk.says("not in order", "affirm", "disregard")
    assert talk.of(ev.NoteKept) == []
    assert talk.state.progress.ended["swings-free:left leaf"] == "failed"


def test_a_single_open_thing_is_named_once(talk):
    talk.go_to(LEFT_OPENING)
    talk.says("both leaves opening time six", "affirm", "left leaf hold open time six", "affirm")
    spoken = talk.says("skip", "no time")
    assert len([text for text in spoken if "hold open time, skipped" in text]) == 1
