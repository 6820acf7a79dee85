"""Implicit confirmation: which answers are said back, accepted, or taken back."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from handsfree.dialogue import state_machine
from handsfree.dialogue.questions.fact import FactQuestion
from handsfree.dialogue.questions.readings import SETS_LIMIT, ReadingsQuestion
from handsfree.dialogue.questions.two_heard import TwoHeardQuestion
from handsfree.dialogue.state import Keep
from handsfree.job.quantity import QUANTITIES, Quantity
from handsfree.job.reading import Subject, Taken
from handsfree.journal import events as ev
from handsfree.visit_record.progress import apply

from ..talk import Talk

TIMES = "opening-time:left leaf"
HELD = "Time how long the left leaf stays open."


@pytest.fixture
def talk(new_talk: Callable[..., Talk]) -> Talk:
    """A conversation at the first reading, in which clear answers are said back."""
    talk = new_talk("doubtful")
    talk.says("done", "clear", "done", "in order", "in order", "left hand", "right hand", "why")
    assert talk.state.progress.at == TIMES
    return talk


def hears(talk: Talk, line: str, **how: object) -> list[str]:
    """The tool's words after an utterance that was heard in a special way."""
    heard = talk.heard(line).model_copy(update=how)
    return talk._take(state_machine.answer(talk.state, heard, talk.now_s))


def readings(talk: Talk) -> list[tuple[str, str, str]]:
    return [
        (str(body.reading.subject), str(body.reading.value), body.how)
        for body in talk.of(ev.ReadingAccepted)
    ]


def test_a_clear_value_is_said_back_with_the_next_prompt(talk):
    assert talk.says("six point two") == ["Six point two.", HELD]
    assert readings(talk) == []
    assert talk.says("five point eight") == ["Five point eight.", "Opening time of the right leaf."]
    assert readings(talk) == [("left leaf", "6.2", "implicit")]
    assert [fact.how for fact in talk.of(ev.FactAccepted)] == ["implicit"] * 4


@pytest.mark.parametrize(
    "said", ["nice weather today", "", "why", "what is left", "say again", "where am i", "help",
             "how do you read", "read back all", "clear", "done", "done later", "put right",
             "note the closer leaks", "speak less", "six kilograms", "one hundred"],
)  # fmt: skip
def test_what_answers_no_prompt_accepts_nothing(talk, said):
    talk.says("six point two", said)
    assert readings(talk) == []
    assert talk.state.echo is not None
    talk.says("five point eight")
    assert readings(talk) == [("left leaf", "6.2", "implicit")]


def test_silence_accepts_nothing(talk):
    talk.says("six point two")
    for _ in range(3):
        talk.is_silent(4000)
    assert readings(talk) == []


def test_an_answer_that_only_the_second_pass_found_accepts_nothing_before_its_affirm(talk):
    talk.says("six point two")
    assert hears(talk, "hold open time seven", retried=True) == [
        "Left leaf, hold open time, seven seconds."
    ]
    assert readings(talk) == []
    talk.says("negative")
    assert readings(talk) == []
    hears(talk, "hold open time seven", retried=True)
    talk.says("affirm")
    assert readings(talk) == [("left leaf", "6.2", "implicit"), ("left leaf", "7", "explicit")]


def test_a_done_that_only_the_second_pass_found_does_not_accept_it(new_talk):
    talk = new_talk("doubtful")
    talk.says("done", "clear", "done", "in order")
    assert hears(talk, "done", retried=True) == [
        "First answer this.",
        "Left leaf, swings freely, OK.",
    ]
    assert talk.of(ev.FactAccepted) == []


def test_affirm_accepts_it_at_once_and_does_not_end_the_next_step(new_talk):
    talk = new_talk("doubtful")
    talk.says("done", "clear", "done", "in order", "in order")
    assert talk.says("affirm") == ["Hand of motor one?"]
    assert [fact.how for fact in talk.of(ev.FactAccepted)] == ["implicit", "explicit"]


@pytest.mark.parametrize("said", ["negative", "disregard", "go back", "withdraw that"])
def test_a_word_takes_it_back_and_its_step_is_open_again(talk, said):
    talk.says("six point two", said)
    assert readings(talk) == []
    assert talk.state.progress.at == TIMES
    assert talk.state.echo is None
    assert not talk.state.progress.job.readings
    assert talk.says("six point four") == ["Left leaf, opening time, six point four seconds."]


@pytest.mark.parametrize(
    "said", ["correction six point four", "correction opening time six point four",
             "left leaf opening time six point four", "opening time six point four"],
)  # fmt: skip
def test_another_value_takes_its_place_and_needs_its_affirm(talk, said):
    talk.says("six point two")
    assert talk.says(said)[-1] == "Left leaf, opening time, six point four seconds."
    talk.says("affirm")
    assert readings(talk) == [("left leaf", "6.4", "explicit")]
    assert talk.state.progress.job.readings[0].attempt == 1


def test_a_bare_number_replaces_it_where_the_next_step_asks_for_none(talk):
    talk.says("six point two", "five point eight", "six point one", "five point seven")
    assert len(readings(talk)) == 3  # the last one would end the visit
    assert isinstance(talk.state.pending, ReadingsQuestion)


@pytest.mark.parametrize("said", ["right hand", "motor one right hand"])
def test_another_choice_replaces_a_fact_unless_it_answers_the_next_prompt(new_talk, said):
    talk = new_talk("doubtful")
    talk.says("done", "clear", "done", "in order", "in order", "left hand", said)
    facts = {(f.fact.subject, f.fact.value) for f in talk.of(ev.FactAccepted)}
    counts = said == "right hand"
    assert ((Subject.MOTOR_ONE, "left") in facts) is counts
    assert isinstance(talk.state.pending, FactQuestion) is not counts


def test_it_can_be_taken_back_one_answer_later(talk):
    talk.says("six point two", "five point eight")
    assert readings(talk) == [("left leaf", "6.2", "implicit")]
    talk.says("negative")
    assert talk.state.pending is None
    assert talk.says("negative") == ["Withdrawn.", "Opening time of the left leaf."]
    assert talk.of(ev.ReadingWithdrawn) == [ev.ReadingWithdrawn(reading_id="r1")]
    assert talk.state.progress.at == TIMES
    assert talk.state.progress.job.readings == ()


def test_the_quantity_that_the_next_step_asks_for_answers_that_step(talk):
    talk.says("six point two", "five point eight", "opening time six")
    assert talk.of(ev.ReadingWithdrawn) == []
    talk.says("affirm")
    said = [(str(r.subject), str(r.value)) for r in talk.state.progress.job.readings]
    assert ("left leaf", "6.2") in said and ("right leaf", "6") in said


def test_a_value_said_again_with_its_name_alone_takes_back_the_one_that_counted(talk):
    """So it was in a rehearsed visit: a value misheard, 'no' twice, then its name and value."""
    talk.says("six point two", "hold open time five", "no", "opening time six point four", "affirm")
    assert [str(r.value) for r in talk.state.progress.job.readings] == ["6.4"]


@pytest.mark.parametrize("said", ["correction opening time six", "left leaf opening time six"])
def test_it_can_be_corrected_by_its_name_one_answer_later(talk, said):
    talk.says("six point two", "five point eight", said)
    assert talk.of(ev.ReadingWithdrawn) == [ev.ReadingWithdrawn(reading_id="r1")]
    talk.says("affirm")
    assert [str(r.value) for r in talk.state.progress.job.readings] == ["6"]
    assert talk.state.progress.at == "hold-open:left leaf", "its value is asked for again"


NAMED_AGAIN = ("opening time six point three six", "left leaf opening time six point three six",
               "correction opening time six point three six")  # fmt: skip


@pytest.mark.parametrize("said", NAMED_AGAIN)
@pytest.mark.parametrize("misses", [0, 1, 2])
def test_a_value_that_is_named_again_takes_back_the_one_that_counted_while_another_is_read_back(
    talk, said, misses
):
    """So it was in a rehearsed visit: what was said against the value was not understood."""
    talk.says("six point six six", "five point two")
    assert isinstance(talk.state.pending, ReadingsQuestion)  # the hold open time, too short
    talk.says(*["nice weather"] * misses, said)
    assert talk.of(ev.ReadingWithdrawn) == [ev.ReadingWithdrawn(reading_id="r1")]
    talk.says("affirm")
    assert [str(r.value) for r in talk.state.progress.job.readings] == ["6.36"]
    assert talk.state.progress.at == "hold-open:left leaf", "its value is asked for again"


@pytest.mark.parametrize("said", NAMED_AGAIN)
@pytest.mark.parametrize("misses", [0, 1, 2, 3])
def test_a_value_that_is_named_again_takes_back_the_one_that_was_said_back(talk, said, misses):
    talk.says("six point six six", *["nice weather"] * misses, said, "affirm")
    assert [str(r.value) for r in talk.state.progress.job.readings] == ["6.36"]


def test_a_reading_of_the_value_that_is_read_back_takes_no_other_back(talk):
    talk.says("six point six six", "five point two", "hold open time five point nine", "affirm")
    assert talk.of(ev.ReadingWithdrawn) == []
    assert [str(r.value) for r in talk.state.progress.job.readings] == ["6.66", "5.9"]


def test_two_answers_later_it_is_final(talk):
    talk.says("six point two", "five point eight", "six point one")
    spoken = talk.says("correction left leaf opening time six")
    assert (
        spoken[-1]
        == "I'm not waiting for an answer. To take back the last reading, say withdraw that."
    )
    assert talk.of(ev.ReadingWithdrawn) == []


def test_a_fact_is_taken_back_with_what_it_changed(new_talk):
    talk = new_talk("doubtful")
    talk.says("done", "clear", "done", "in order", "in order", "left hand", "right hand")
    before = talk.state.echo.before.job.opening
    assert before.motor(1).hand == "left"
    talk.says("negative", "negative")
    assert talk.of(ev.FactWithdrawn) == [ev.FactWithdrawn(subject=Subject.MOTOR_ONE, name="hand")]
    assert talk.state.progress.job.opening.motor(1).hand is None
    assert talk.state.progress.at == "motor-hand:motor one"


def test_several_of_one_breath_are_taken_back_together_and_each_step_is_open(talk):
    talk.says("left leaf opening time six hold open time five point nine", "four", "negative")
    assert talk.of(ev.ReadingWithdrawn) == []
    talk.says("negative")
    assert {body.reading_id for body in talk.of(ev.ReadingWithdrawn)} == {"r1", "r2"}
    assert talk.state.progress.at == TIMES
    assert "hold-open:left leaf" not in talk.state.progress.ended


@pytest.mark.parametrize("said", ["go to make safe", "withdraw run one", "it slams"])
def test_a_command_that_answers_nothing_has_it_affirmed_first(talk, said):
    talk.says("six point two")
    assert talk.says(said) == [
        "First answer this.",
        "Left leaf, opening time, six point two seconds.",
    ]
    talk.says("affirm")
    assert readings(talk) == [("left leaf", "6.2", "explicit")]


def test_stand_by_keeps_it_as_it_was(talk):
    talk.says("six point two", "stand by", "five point eight", "carry on", "five point eight")
    assert readings(talk) == [("left leaf", "6.2", "implicit")]


# --- what needs its affirm


@pytest.mark.parametrize(
    ("said", "how"),
    [
        ("two point one", {}),  # fails
        ("three point six", {}),  # too close to call
        ("fifteen", {}),  # or fifty
        ("six point two", {"snr_db": 9.9}),
        ("six point two", {"retried": True}),
    ],
)
def test_a_value_in_doubt_needs_its_affirm(talk, said, how):
    hears(talk, said, **how)
    assert isinstance(talk.state.pending, ReadingsQuestion)


def test_an_unusual_value_that_is_said_again_needs_its_affirm(talk):
    talk.says("ninety seconds")
    assert talk.says("ninety seconds") == ["Left leaf, opening time, nine zero seconds."]
    assert isinstance(talk.state.pending, ReadingsQuestion)


def test_a_value_well_above_the_noise_needs_none(talk):
    hears(talk, "six point two", snr_db=10.1)
    assert talk.state.echo is not None


def test_quantities_that_set_limits_are_in_no_limit_themselves_as_the_standard_has_them():
    """ANSI/BHMA A156.19 Table I takes width and weight; backcheck bounds the opening time (from
    memory). ICC A117.1 and the ADA's 404.3.5 place the plates (from memory)."""
    assert {
        Quantity.LEAF_WIDTH, Quantity.LEAF_WEIGHT,
        Quantity.BACKCHECK_ANGLE, Quantity.PLATE_DISTANCE,
    } == SETS_LIMIT  # fmt: skip
    assert all(quantity in QUANTITIES for quantity in SETS_LIMIT)


def test_what_is_not_in_order_needs_its_affirm(new_talk):
    talk = new_talk("doubtful")
    talk.says("done", "clear", "done", "not in order")
    assert isinstance(talk.state.pending, FactQuestion)
    assert talk.state.echo is None


def test_the_answer_that_would_close_the_visit_needs_its_affirm(talk):
    talk.says("six point two", "five point eight", "six", "five point nine")
    assert not talk.state.progress.closed
    talk.says("affirm")
    assert talk.state.progress.closed
    assert [how for *_, how in readings(talk)] == ["implicit"] * 3 + ["explicit"]


def test_every_value_needs_it_where_the_visit_says_so(new_talk):
    talk = new_talk("every")
    talk.says("done", "clear", "done")
    assert talk.says("in order") == ["Left leaf, swings freely, OK."]


# --- a second ear


def test_two_hearings_that_differ_are_asked_about_after_it_was_said_back(talk):
    talk.says("six point two")
    assert talk.second_ear_hears("six point seven") == [
        "I heard six point two, or six point seven?"
    ]
    assert talk.state.progress.at == TIMES
    talk.says("six point seven", "affirm")
    (body,) = talk.of(ev.ReadingAccepted)
    assert (str(body.reading.value), body.how) == ("6.7", "explicit")
    assert body.reading.second_ear == "chosen"


def test_a_second_ear_that_agrees_marks_it(talk):
    talk.says("six point two")
    assert talk.second_ear_hears("six point two") == []
    talk.says("five point eight")
    (body,) = talk.of(ev.ReadingAccepted)
    assert (body.reading.second_ear, body.how) == ("agreed", "implicit")


def test_a_late_difference_takes_the_next_answer_for_neither(talk):
    talk.says("six point two")
    talk.second_ear_hears("six point seven", late=True)
    assert isinstance(talk.state.pending, TwoHeardQuestion)
    assert talk.says("six point seven") == [
        "First answer this.", "I heard six point two, or six point seven?",
    ]  # fmt: skip
    assert readings(talk) == []
    talk.says("six point two", "affirm")
    assert readings(talk) == [("left leaf", "6.2", "explicit")]


# --- the journal


def test_its_events_come_before_the_answer_that_accepts_it(talk):
    talk.says("six point two")
    heard = talk.heard("five point eight")
    _, replies = state_machine.answer(talk.state, heard, 0.0)
    kept = [reply for reply in replies if isinstance(reply, Keep)]
    assert [reply.body.kind for reply in kept] == [
        "reading_accepted", "judged", "step_ended", "step_entered",
    ]  # fmt: skip
    assert all(reply.earlier for reply in kept)


def test_a_typed_value_is_typed_in_the_journal(talk):
    hears(talk, "six point two", taken=Taken.TYPED)
    hears(talk, "five point eight", taken=Taken.TYPED)
    assert readings(talk) == [("left leaf", "6.2", "typed")]


def test_the_journal_and_what_was_said_back_add_up_to_the_progress(talk):
    talk.says("six point two", "note the closer leaks", "speak less", "why")
    echo, progress = talk.state.echo, talk.state.echo.before
    assert progress.level == "brief"
    for body in echo.bodies:
        progress = apply(progress, body)
    assert progress == talk.state.progress
