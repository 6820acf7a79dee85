"""Steps asked as one question: good for all, opened, taken back, known values.

The way of asking is common practice, no published source.
"""

from __future__ import annotations

import pytest

from handsfree.checks.limits import load_limits
from handsfree.dialogue import state_machine
from handsfree.dialogue.everyday_words import has_own_word
from handsfree.dialogue.grouped_steps import group_at
from handsfree.job.closed_lists import Confirm
from handsfree.job.job import Job, LastVisit, Sheet
from handsfree.job.opening import Swing
from handsfree.job.quantity import Quantity
from handsfree.job.reading import LEAF_SUBJECTS, Reading, Taken
from handsfree.job.unit import Measure, Unit
from handsfree.journal import events as ev
from handsfree.language.interpreter import Language
from handsfree.language.wording import languages
from handsfree.procedure.loader import load_procedure, parse_procedure, shipped_procedures
from handsfree.visit.resume import first_state
from handsfree.visit_record.progress import Progress, apply

from ..talk import PROCEDURE, SHEET, Talk, grouped
from .technician import answer_to, opening

LIMITS = load_limits("a156.19")
ASKED = "Both leaves: swings freely. All good? Say all good, or no to go one by one."
SWINGS = ["swings-free:left leaf", "swings-free:right leaf"]
HAND = "Which hand is motor one, left or right?"


def small(language: Language, confirm: Confirm = "doubtful") -> Talk:
    """A conversation in which the swing of both leaves is asked as one."""
    procedure = parse_procedure(grouped(PROCEDURE), "grouped.toml", "1" * 64)
    state = first_state(SHEET, procedure, LIMITS)
    talk = Talk(state=state, language=language)
    talk.begins(confirm)
    return talk


@pytest.fixture
def talk(language: Language) -> Talk:
    """At the question for both leaves; nothing was said back before it."""
    talk = small(language)
    assert talk.says("done", "clear", "done")[-1] == ASKED
    return talk


def facts(talk: Talk) -> list[tuple[str, str, str]]:
    return [(str(b.fact.subject), b.fact.value, b.how) for b in talk.of(ev.FactAccepted)]


def ended(talk: Talk) -> list[str]:
    return [body.key for body in talk.of(ev.StepEnded)]


@pytest.mark.parametrize("good", ["all good", "good", "okay", "yes", "fine", "tight", "in order",
                                  "both in order"])  # fmt: skip
def test_a_good_answer_answers_every_step_with_its_own_events(talk, good):
    spoken = talk.says(good)
    assert spoken[:2] == ["All good.", HAND]
    assert facts(talk) == []  # said back with the next prompt, as any answer
    talk.says("left hand")
    assert facts(talk) == [(str(leaf), "in_order", "implicit") for leaf in LEAF_SUBJECTS]
    assert sorted(ended(talk)[-2:]) == SWINGS
    assert_replays(talk)


@pytest.mark.parametrize("bad", ["no", "not in order", "loose", "not okay", "it doesn't work"])
def test_any_other_answer_opens_the_group(talk, bad):
    spoken = talk.says(bad)
    assert spoken == ["One by one.", "Swing the left leaf by hand. Does it swing freely?"]
    assert facts(talk) == [] and talk.of(ev.GroupOpened)[0].group == "by-hand"
    assert talk.says("yes") == ["OK.", "Swing the right leaf."]
    assert talk.says("no") == ["Right leaf, swings freely, not OK."]
    talk.says("affirm", "it rubs")
    assert facts(talk) == [
        ("left leaf", "in_order", "implicit"),
        ("right leaf", "not_in_order", "explicit"),
    ]
    assert_replays(talk)


@pytest.mark.parametrize("said", ["done", "affirm", "clear", "six point two", "left hand", "next"])
def test_what_fits_no_group_answers_nothing(talk, said):
    spoken = talk.says(said)
    assert facts(talk) == [] and not talk.of(ev.GroupOpened)
    assert talk.state.progress.at == SWINGS[0] and spoken[-1] != HAND


def test_negative_takes_the_whole_group_back_at_once(talk):
    talk.says("all good")
    talk.says("negative")
    assert facts(talk) == [] and not set(SWINGS) & set(talk.state.progress.ended)
    # Each value needs its affirm for a while: the leaves are asked one by one.
    assert talk.says("in order") == ["Left leaf, swings freely, OK."]
    assert_replays(talk)


def test_negative_takes_the_whole_group_back_one_answer_later(talk):
    talk.says("all good", "left hand")
    assert len(facts(talk)) == 2
    talk.says("negative")  # the hand, which was said back last
    assert talk.state.progress.at == "motor-hand:motor one" and not talk.of(ev.FactWithdrawn)
    assert talk.says("negative")[0] == "Withdrawn."
    assert [body.subject for body in talk.of(ev.FactWithdrawn)] == list(LEAF_SUBJECTS)
    assert not set(SWINGS) & set(talk.state.progress.ended)
    assert talk.state.progress.at == SWINGS[0]
    assert_replays(talk)


@pytest.fixture
def after_an_answer(language: Language) -> Talk:
    """At the question for both leaves, with the hand of motor two said back before it."""
    later = grouped(PROCEDURE).replace(
        'id = "swings-free"\nstage = "safe"', 'id = "swings-free"\nstage = "times"'
    )
    state = first_state(SHEET, parse_procedure(later, "later.toml", "2" * 64), LIMITS)
    talk = Talk(state=state, language=language)
    talk.begins("doubtful")
    assert talk.says("done", "clear", "done", "left hand", "right hand")[-1] == ASKED
    return talk


def test_yes_answers_the_group_and_accepts_what_was_said_back(after_an_answer):
    talk = after_an_answer
    assert talk.says("yes")[0] == "All good."
    assert facts(talk)[-1] == ("motor two", "right", "implicit")


def test_affirm_accepts_what_was_said_back_and_answers_no_group(after_an_answer):
    talk = after_an_answer
    talk.says("affirm")
    assert facts(talk)[-1] == ("motor two", "right", "explicit")
    assert talk.state.progress.at == SWINGS[0] and talk.state.echo is None


@pytest.mark.parametrize("no", ["no", "nope", "loose"])
def test_no_may_have_been_meant_for_what_was_said_back(after_an_answer, no):
    talk = after_an_answer
    assert talk.says(no) == ["Motor two, hand, right hand."]
    assert ("motor two", "right", "implicit") not in facts(talk)
    assert_replays(talk)
    talk.says("affirm")
    assert facts(talk)[-1] == ("motor two", "right", "explicit")
    assert talk.state.progress.at == SWINGS[0] and group_at(talk.state) == ()


def test_no_to_what_was_said_back_drops_it(after_an_answer):
    talk = after_an_answer
    talk.says("no", "negative")
    assert "motor two" not in [subject for subject, *_ in facts(talk)]
    assert talk.state.progress.at == "motor-hand:motor two"


def test_not_in_order_is_meant_for_the_group(after_an_answer):
    talk = after_an_answer
    assert talk.says("not in order")[0] == "One by one."
    assert facts(talk)[-1] == ("motor two", "right", "implicit")


def test_each_value_by_its_affirm_asks_one_by_one(language):
    talk = small(language, "every")
    assert talk.says("done", "clear", "done")[-1].startswith("Swing the left leaf by hand.")
    assert group_at(talk.state) == ()


def test_skip_skips_the_group_with_one_reason(talk):
    assert talk.says("skip") == ["Skip 2 steps. Say the reason, or disregard."]
    talk.says("no time")
    skipped = [(b.key, b.outcome, b.reason) for b in talk.of(ev.StepEnded)[-2:]]
    assert sorted(skipped) == [(key, "skipped", "no time") for key in SWINGS]


def test_go_back_asks_the_last_step_of_it_alone(talk):
    talk.says("all good", "left hand", "affirm")
    talk.says("go back", "go back")
    assert talk.state.progress.at == SWINGS[1] and group_at(talk.state) == ()
    assert talk.of(ev.GroupOpened)


def test_where_am_i_and_help_name_the_group(talk):
    assert "Both leaves: swings freely. All good?" in talk.says("where am i")[0]
    assert talk.says("help")[0].startswith("Say all good, or no")


def test_a_part_is_skipped_with_one_reason(talk):
    assert talk.says("skip the times") == ["Skip 4 steps. Say the reason, or disregard."]
    talk.says("the gauge is broken")
    mine = [body for body in talk.of(ev.StepEnded) if body.outcome == "skipped"]
    assert len(mine) == 4 and {body.reason for body in mine} == {"the gauge is broken"}
    assert talk.state.progress.at == SWINGS[0]
    assert talk.says("skip the signs") == ["This visit has no such stage."]


def test_what_must_not_be_skipped_is_not_skipped_with_its_part(talk):
    talk.says("go to the times", "go to make safe")
    kept = [task.key for task in talk.state.tasks if not task.step.may_skip]
    talk.says("skip make safe", "no time")
    skipped = {body.key for body in talk.of(ev.StepEnded) if body.outcome == "skipped"}
    assert not skipped & set(kept)


# --- known values


def known_talk(
    language: Language, *, weight: str = "150", procedure: str = "yearly-service"
) -> Talk:
    door = opening(Swing.SAME_WAY, False)
    readings = tuple(
        Reading(id=f"r{nth}", quantity=quantity, subject=leaf, value=value, unit=unit, taken="said")
        for nth, (leaf, quantity, value, unit) in enumerate(
            (leaf, *each)
            for leaf in LEAF_SUBJECTS
            for each in (
                (Quantity.LEAF_WIDTH, "36", Unit.INCH),
                (Quantity.LEAF_HEIGHT, "84", Unit.INCH),
                (Quantity.LEAF_WEIGHT, weight, Unit.POUND),
            )
        )
    )
    last = LastVisit(reference="B-0", on="2025-11-30", readings=readings)
    sheet = Sheet(
        reference="B", site="a bench", technician="nobody", opening=door, last_visit=last,
        language=language.wording.language,
    )  # fmt: skip
    steps = load_procedure(procedure, language=language.wording.language)
    talk = Talk(state=first_state(sheet, steps, LIMITS), language=language)
    talk.begins("doubtful")
    while talk.state.task is None or talk.state.task.step.id != "width":
        talk.says(answer_to(talk.state, "slams"))
    return talk


def measured(talk: Talk) -> list[tuple[str, str, str, bool]]:
    return [
        (str(b.reading.subject), b.reading.quantity, str(b.reading.value), b.reading.known)
        for b in talk.of(ev.ReadingAccepted)
    ]


def test_known_values_are_asked_in_one_question_and_filed_by_yes(language):
    talk = known_talk(language)
    assert len(group_at(talk.state)) == 6
    (asked,) = talk.says("say again")
    assert asked.startswith("Both leaves: ") and "Still the same?" in asked
    talk.says("yes")
    assert len(measured(talk)) == 6 and all(known for *_, known in measured(talk))
    assert {b.how for b in talk.of(ev.ReadingAccepted)} == {"explicit"}
    assert not any(key.startswith(("width", "height", "weight:")) and key not in ended(talk)
                   for key in (task.key for task in talk.state.tasks))  # fmt: skip
    assert talk.state.progress.job.opening.leaves[0].width == Measure(value="36", unit=Unit.INCH)


def test_no_asks_each_of_them(language):
    talk = known_talk(language)
    talk.says("no")
    assert measured(talk) == [] and group_at(talk.state) == ()
    talk.says("34 inches", "affirm")
    assert measured(talk) == [("left leaf", "leaf_width", "34", False)]


def test_another_value_replaces_the_known_one_and_the_rest_is_asked_together(language):
    talk = known_talk(language)
    talk.says("34 inches", "affirm")
    assert measured(talk) == [("left leaf", "leaf_width", "34", False)]
    assert len(group_at(talk.state)) == 5


def test_a_value_that_no_door_has_is_asked_for(language):
    talk = known_talk(language, weight="1500")
    assert Quantity.LEAF_WEIGHT not in {task.step.quantity for task in group_at(talk.state)}


# --- the shipped procedures


@pytest.mark.parametrize("language_name", languages())
@pytest.mark.parametrize("name", shipped_procedures())
def test_no_step_on_which_a_life_hangs_is_in_a_group(name, language_name):
    procedure = load_procedure(name, language=language_name)
    members = [step for step in procedure.steps if step.group is not None]
    assert members
    for step in members:
        assert not has_own_word(step), step.id
        assert step.may_skip and step.danger is None and not step.needs and not step.caution
        assert step.stage not in ("power-off", "power-on", "learn", "fire")


def assert_replays(talk: Talk) -> None:
    """The journal and what was said back add up to the state."""
    progress = Progress(job=Job.open(SHEET))
    for body in talk.kept:
        progress = apply(progress, body)
    echo = talk.state.echo
    if echo is not None:
        assert progress == echo.before
        for body in echo.bodies:
            progress = apply(progress, body)
    assert progress == talk.state.progress


def test_an_answer_to_a_step_that_was_asked_alone_ends_no_other(language):
    """The word that says that hearing is good again answers the step that was asked, and no more.

    A rehearsed visit ended 'mark the sensor wires' with the 'done' that was said to the wires of
    the plates.
    """
    talk = small(language)
    hears_badly = ["nice weather"] * 3
    talk.says(*hears_badly, "done", "clear", "affirm")
    assert talk.state.progress.confirm == "every"
    while not (talk.state.task and talk.state.task.step.group):
        talk.says("done")
    while talk.state.progress.confirm == "every":
        alone = talk.state.task
        talk.says("why") if len(talk.state.hearing) < 7 else talk.says("in order")
    assert alone is not None and alone.key in SWINGS
    talk.says("left hand")
    assert [key for key in SWINGS if key in ended(talk)] in ([], [alone.key])
    assert_replays(talk)


# --- hearing gets bad while several steps are asked together

LOUD = "It's loud here. Say affirm after each value."
LEFT = "Swing the left leaf by hand. Does it swing freely?"


def in_noise(talk: Talk, line: str) -> list[str]:
    heard = talk.heard(line).model_copy(update={"snr_db": 8.0, "taken": Taken.SAID})
    return talk._take(state_machine.answer(talk.state, heard, talk.now_s))


@pytest.mark.parametrize("said", ["all good", "yes", "done", "no", "nice weather today"])
def test_an_answer_in_noise_opens_the_group_and_answers_none_of_its_steps(talk, said):
    assert in_noise(talk, said) == [LOUD, "One by one.", LEFT]
    assert facts(talk) == [] and talk.state.pending is None
    assert talk.says("in order") == ["Left leaf, swings freely, OK."]


def test_a_question_in_noise_is_answered(talk):
    spoken = in_noise(talk, "where am i")
    assert spoken[0] == LOUD and "One by one." not in spoken and LEFT in spoken[1]


def test_a_no_in_noise_that_may_refuse_what_was_said_back_is_not_lost(after_an_answer):
    talk = after_an_answer
    assert "One by one." not in in_noise(talk, "no")
    assert talk.state.pending is not None or talk.state.echo is None


@pytest.mark.parametrize("known", [False, True])
def test_who_is_missed_twice_is_offered_yes_and_no(language, known):
    talk = known_talk(language) if known else small(language)
    if not known:
        talk.says("done", "clear", "done")
    assert talk.says("nice weather") == ["Say again."]
    assert group_at(talk.state)
    assert talk.says("nice weather") == ["Say yes or no, or type it on the keyboard."]
    at = talk.state.progress.at
    talk.says("yes")
    assert talk.state.progress.at != at


def test_a_question_for_several_steps_that_is_missed_three_times_is_asked_one_by_one(talk):
    for _ in range(2):
        talk.says("nice weather")
    assert talk.says("nice weather") == [
        "I'm not hearing you well. Say affirm after each value.",
        "One by one.",
        "Swing the left leaf by hand. Does it swing freely?",
    ]
    assert talk.says("yes") == ["Left leaf, swings freely, OK."]
    assert_replays(talk)
