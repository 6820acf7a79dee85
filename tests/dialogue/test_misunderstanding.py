"""Help for a speaker who is not understood, or who is in noise."""

from __future__ import annotations

import pytest

from handsfree.dialogue import state_machine
from handsfree.dialogue.misunderstanding import NOISY_DB
from handsfree.dialogue.state import Heard
from handsfree.job.reading import Taken

LEFT_OPENING = "opening-time:left leaf"
TYPE_IT = "I do not hear you well. Type it on the keyboard, or say stand by and move closer."


def missed(talk, snr_db: float | None, times: int = 1) -> list[str]:
    """The answer to the last of ``times`` utterances that are not understood."""
    spoken: list[str] = []
    for _ in range(times):
        heard = Heard(text="nice weather", meaning=None, snr_db=snr_db)
        spoken = talk._take(state_machine.answer(talk.state, heard, talk.now_s))
    return spoken


def test_who_types_is_not_told_to_say_it_again_or_to_type(talk):
    talk.go_to(LEFT_OPENING)
    typed = Heard(text="nice weather", meaning=None, taken=Taken.TYPED)
    for miss in range(5):
        (spoken,) = talk._take(state_machine.answer(talk.state, typed, talk.now_s))
        assert spoken.startswith("I still don't know" if miss else "I don't know those words.")
        assert spoken.endswith("Say the opening time as a number, or skip.")
        assert "again" not in spoken and "keyboard" not in spoken


def in_noise(talk, line: str, snr_db: float) -> None:
    heard = talk.heard(line).model_copy(update={"snr_db": snr_db})
    talk._take(state_machine.answer(talk.state, heard, talk.now_s))


def test_digits_are_asked_for_where_a_number_is_waited_for(talk):
    talk.go_to(LEFT_OPENING)
    assert missed(talk, None, 3)[0].startswith("Spell the number digit by digit")


def test_digits_are_offered_in_a_new_row_of_misses_too(talk):
    talk.go_to(LEFT_OPENING)
    for _ in range(2):
        assert missed(talk, None, 3)[0].startswith("Spell the number digit by digit")
        assert missed(talk, None, 2) == [TYPE_IT]
        talk.says("why")


def test_no_digits_are_asked_for_where_no_number_fits(talk):
    assert talk.state.task.step.waits == "done"
    assert missed(talk, None, 3) == ["You can also say finished, or type it on the keyboard."]
    assert missed(talk, None) == [TYPE_IT]


def test_other_words_are_offered_for_a_readback(talk):
    talk.go_to(LEFT_OPENING)
    talk.says("six point two")
    assert missed(talk, None, 3) == ["Say yes or no, or type it on the keyboard."]
    assert talk.says("yes")[0] == "Pass."


def test_three_misses_in_noise_are_told_with_the_level(talk):
    assert missed(talk, 8.6, 2) == ["Say done when it is done."]
    (spoken,) = missed(talk, 8.6)
    assert spoken.startswith("I hear you badly, your voice stands only 9 decibels over the noise.")


def test_they_need_not_come_in_a_row(talk):
    talk.go_to(LEFT_OPENING)
    for _ in range(2):
        missed(talk, 9.0)
        in_noise(talk, "what is the limit", 9.0)
    assert missed(talk, 9.0)[0].startswith("I hear you badly")


def test_it_is_not_said_again_at_once(talk):
    missed(talk, 8.0, 3)
    assert not any("badly" in text for text in missed(talk, 8.0, 2))
    assert missed(talk, 8.0)[0].startswith("I hear you badly")


@pytest.mark.parametrize("snr_db", [None, NOISY_DB, 30.0])
def test_misses_without_noise_are_never_blamed_on_it(talk, snr_db):
    for _ in range(12):
        assert "badly" not in missed(talk, snr_db)[0]


def test_long_ago_is_forgotten(talk):
    talk.go_to(LEFT_OPENING)
    missed(talk, 8.0, 2)
    for _ in range(8):
        in_noise(talk, "what is the limit", 8.0)
    assert missed(talk, 8.0) == ["Say again."]


def test_less_than_no_decibels_is_told_as_none(talk):
    (spoken,) = missed(talk, -3.2, 3)
    assert "only 0 decibels" in spoken
