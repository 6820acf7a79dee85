"""One entry of a controller's guide."""

from __future__ import annotations

import pytest

from handsfree.dialogue import state_machine
from handsfree.dialogue.questions.guide_entry import GuideEntryQuestion
from handsfree.journal import events as ev
from handsfree.journal.controller_events import EntriesReopened, EntryAsked, EntryEnded
from handsfree.visit_record.progress import replay

from ...guided import DOOR, ENTRIES, guided, set_up
from ...talk import Talk

QUESTION = GuideEntryQuestion


def ask(talk: Talk) -> None:
    guided(talk)
    talk.says("next")


@pytest.fixture
def asked(talk) -> Talk:
    ask(talk)
    return talk


def entry(talk: Talk) -> str | None:
    assert isinstance(talk.state.pending, GuideEntryQuestion)
    return talk.state.pending.entry


def test_an_entry_says_why_where_what_and_what_is_seen(asked):
    asked.says("next", "next")
    assert asked.says("say again") == [
        "Motor one is left hand. Entry three, set it to one. The display shows alpha one."
    ]


def test_what_is_seen_first_comes_before_the_value(asked):
    (said,) = asked.says("say again")
    assert said == (
        "The leaves swing the same way. Entry one, the display shows delta zero. "
        "Set it to five. The display shows delta five."
    )


def test_every_entry_is_kept_with_its_value_what_was_seen_and_its_sound(asked):
    heard = asked.heard("it shows delta five").model_copy(update={"clip": "000007.flac"})
    asked._take(state_machine.answer(asked.state, heard, 0.0))
    assert asked.of(EntryEnded)[-1] == EntryEnded(
        entry="door-type",
        outcome="made",
        name="door type",
        called="entry one",
        value="five",
        shown="D5",
        clip="000007.flac",
    )


def test_a_value_that_was_entered_wrong_is_named_and_asked_for_again(asked):
    assert asked.says("it shows D8") == ["Delta eight: that's eight. It should be five."]
    assert entry(asked) == "door-type" and not asked.of(EntryEnded)[1:]
    asked.says("it shows D5")
    assert entry(asked) == "leaf-of-one"


def test_a_bare_number_is_the_value_or_not(asked):
    assert asked.says("eight") == ["Not eight. It should be five."]
    asked.says("five")
    assert entry(asked) == "leaf-of-one"


@pytest.mark.parametrize("said", ["entry one set to five", "entry 1 is 5"])
def test_where_and_what_are_the_entry_made(asked, said):
    assert asked.says("entry one set to eight") == ["That's not it. It should be five."]
    assert asked.says("entry two set to five")[0].startswith("The leaves swing the same way.")
    asked.says(said)
    assert entry(asked) == "leaf-of-one"


def test_negative_says_what_to_do_and_asks_what_is_seen(asked):
    said = asked.says("negative")
    assert said[0].startswith("Press the round key once") and said[1].startswith("What do you see?")
    assert entry(asked) == "door-type"


def test_what_is_left_out_keeps_the_step_open(asked):
    assert asked.says("skip")[0] == "Left out: door type."
    set_up(asked)
    assert asked.state.progress.ended["set-up"] == "skipped"
    (ended,) = [body for body in asked.of(ev.StepEnded) if body.key == "set-up"]
    assert ended.reason == "Left out: door type."


def test_go_to_an_entry_and_those_that_were_passed_over_come_before_it_is_kept(asked):
    assert asked.says("go to entry nine")[0].startswith("The door is not fire rated.")
    asked.says("next")
    assert entry(asked) == "door-type"
    set_up(asked)
    made = [body.entry for body in asked.of(EntryEnded)]
    assert made[-1] == "keep" and len(made) == len(set(made)) == ENTRIES


def test_an_entry_made_again_after_it_was_kept_is_opened_and_kept_again(asked):
    set_up(asked)
    asked.says("go to entry three")
    assert asked.of(EntriesReopened)[-1].entries == ("open-up", "hand-one", "keep")
    asked.says("next", "next", "next")
    assert [body.entry for body in asked.of(EntryEnded)][-3:] == ["open-up", "hand-one", "keep"]
    assert asked.state.progress.ended["set-up"] == "done"


def test_back_why_and_what_is_left(asked):
    assert asked.says("what is left") == [f"{ENTRIES - 1} entries are left."]
    assert asked.says("why")[0].startswith("It tells the controller how many motors")
    asked.says("go back")
    assert entry(asked) == "open-up"


def test_a_hand_that_is_not_known_is_asked_for_and_the_entry_follows(talk):
    motors = tuple(motor.model_copy(update={"hand": None}) for motor in DOOR.motors)
    guided(talk, door=DOOR.model_copy(update={"motors": motors}))
    said = talk.says("next", "next", "next")
    assert said == [
        "I don't know the hand of motor one yet. Say motor one left hand, or motor one right hand."
    ]
    assert talk.says("next") == said
    said = talk.says("motor one left hand", "affirm")
    assert said[-1].startswith("Motor one is left hand. Entry three, set it to ")


def test_a_break_loses_nothing(asked):
    asked.says("next", "next")
    opened = ev.VisitOpened.model_construct(sheet=asked.state.progress.job.sheet)
    progress = replay([opened, *asked.kept])
    assert progress == asked.state.progress
    asked.state = asked.state.model_copy(update={"progress": progress, "pending": None})
    assert asked.resumes()[-1].startswith("Motor one is left hand. Entry three")
    asked.state = asked.state.model_copy(update={"pending": None})
    assert "It should be one" in asked.says("it shows A4")[0]


def test_every_entry_that_is_asked_for_is_in_the_journal(asked):
    set_up(asked)
    asked_for = [body.entry for body in asked.of(EntryAsked)]
    assert asked_for == [*(body.entry for body in asked.of(EntryEnded)), "learn"]
