"""Whole recordings with a known number of marks."""

from __future__ import annotations

import pytest

from handsfree.timing.recorded_marks import mark_of_word, marks_of
from tests.timing.sounds import stream, tap, word, word_beat_s

TWO = {1.0: word(), 4.0: word()}


@pytest.mark.slow
def test_a_softer_sound_from_farther_away_is_left_out():
    found = marks_of(stream(6.0, {**TWO, 2.5: 0.05 * tap()}), 2)

    assert [mark.at_s for mark in found] == pytest.approx(
        [1.0 + word_beat_s(), 4.0 + word_beat_s()], abs=0.004
    )


@pytest.mark.slow
def test_an_equally_loud_one_stays_for_the_user_to_judge():
    assert len(marks_of(stream(6.0, {**TWO, 2.5: tap()}), 2)) == 3


def test_fewer_are_given_as_they_are():
    assert len(marks_of(stream(6.0, TWO), 6)) == 2


CLATTER_S, WORD_S = 9.6, 10.0
BEHIND_A_CLATTER = {CLATTER_S: tap(), WORD_S: word()}


@pytest.mark.slow
def test_a_clatter_right_before_a_word_does_not_hide_its_mark_where_the_word_was_heard():
    sound = stream(14.0, {**TWO, **BEHIND_A_CLATTER})
    assert [round(mark.at_s, 1) for mark in marks_of(sound, 3)][2:] == [CLATTER_S]

    mark = mark_of_word(sound, WORD_S + 0.05, 0.25, 0.0)

    assert mark is not None
    assert mark.at_s == pytest.approx(WORD_S + word_beat_s(), abs=0.004)
    assert mark.end_sample > mark.sample


@pytest.mark.slow
@pytest.mark.parametrize("at_s", [7.0, 13.9, 30.0])
def test_where_nothing_sounds_a_word_has_no_mark(at_s: float):
    assert mark_of_word(stream(14.0, TWO), at_s, 0.25, 0.0) is None


@pytest.mark.slow
def test_what_is_softer_than_the_voice_is_the_mark_of_no_word_either():
    soft = stream(14.0, {WORD_S: 0.05 * word()})

    assert mark_of_word(soft, WORD_S, 0.25, 0.0) is not None
    assert mark_of_word(soft, WORD_S, 0.25, 0.05) is None
