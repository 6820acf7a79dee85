"""Which answers need 'affirm', depending on how well a person is heard."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from handsfree.dialogue import state_machine
from handsfree.dialogue.confirm_level import BADLY, RECENT
from handsfree.job.reading import Taken
from handsfree.journal import events as ev

from ..talk import Talk

AFFIRM = "For now, say affirm after each value."
NO_NEED = "I hear you fine again. No need to affirm every value."


@pytest.fixture
def talk(new_talk: Callable[..., Talk]) -> Talk:
    return new_talk("doubtful")


def hears(talk: Talk, line: str, **how: object) -> list[str]:
    heard = talk.heard(line).model_copy(update=how)
    return talk._take(state_machine.answer(talk.state, heard, talk.now_s))


def levels(talk: Talk) -> list[tuple[str, str]]:
    return [(body.confirm, body.why) for body in talk.of(ev.ConfirmSet)][1:]


def test_the_setting_of_the_visit_is_in_its_journal(talk, new_talk):
    assert talk.of(ev.ConfirmSet) == [ev.ConfirmSet(confirm="doubtful", why="setting")]
    assert new_talk("every").of(ev.ConfirmSet) == []


def test_noise_asks_for_affirm_and_says_so_once(talk):
    talk.says("done", "clear", "done")
    assert hears(talk, "in order", snr_db=8.0) == [
        "It's loud here. Say affirm after each value.", "Left leaf, swings freely, OK.",
    ]  # fmt: skip
    assert hears(talk, "affirm", snr_db=8.0) == ["Swing the right leaf."]
    assert levels(talk) == [("every", "noise")]


def test_a_value_taken_back_asks_for_affirm_until_so_many_are_heard_well(talk):
    talk.says("done", "clear", "done", "in order")
    assert talk.says("negative")[0] == AFFIRM
    said = ["in order", "affirm", "in order", "affirm", "left hand", "affirm", "right hand"]
    assert len(said) == RECENT - 1
    for line in said:
        assert NO_NEED not in talk.says(line)
    assert talk.says("affirm")[0] == NO_NEED
    assert levels(talk) == [("every", "taken_back"), ("doubtful", "heard_well")]
    assert talk.says("six point two")[0] == "Six point two."


def test_one_that_is_heard_badly_in_between_begins_the_count_again(talk):
    talk.says("done", "clear", "done", "in order", "negative", "in order", "affirm", "in order")
    talk.says("nice weather", "affirm", "left hand", "affirm", "right hand", "affirm", "why")
    assert levels(talk) == [("every", "taken_back")]
    talk.says("why", "why", "why")
    assert levels(talk)[-1] == ("doubtful", "heard_well")


def test_several_that_are_not_understood_ask_for_affirm(talk):
    talk.says("done")
    for _ in range(BADLY - 1):
        talk.says("nice weather", "why")
    assert levels(talk) == []
    talk.says("nice weather")
    assert levels(talk) == [("every", "not_understood")]


def test_typing_errors_do_not(talk):
    for _ in range(RECENT):
        hears(talk, "nice weather", taken=Taken.TYPED)
    assert levels(talk) == []


def test_a_visit_that_asks_for_every_value_says_nothing_of_it(new_talk):
    talk = new_talk("every")
    talk.says("done", "clear", "done")
    assert hears(talk, "in order", snr_db=3.0) == ["Left leaf, swings freely, OK."]
    talk.says("negative", *["why"] * RECENT)
    assert talk.of(ev.ConfirmSet) == []


def test_it_stands_before_the_utterance_that_changed_it(talk):
    talk.says("done", "clear", "done", "in order")
    _, replies = state_machine.answer(talk.state, talk.heard("negative"), 0.0)
    (kept,) = [reply for reply in replies if hasattr(reply, "body")]
    assert kept.earlier
