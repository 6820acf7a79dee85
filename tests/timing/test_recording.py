"""Whole recordings of which the number of marks is known."""

from __future__ import annotations

import pytest

from handsfree.timing.recording import marks_of
from tests.timing.sounds import stream, tap, word, word_beat_s

TWO = {1.0: word(), 4.0: word()}


def test_a_softer_sound_from_farther_away_is_left_out():
    found = marks_of(stream(6.0, {**TWO, 2.5: 0.05 * tap()}), 2)

    assert [mark.at_s for mark in found] == pytest.approx(
        [1.0 + word_beat_s(), 4.0 + word_beat_s()], abs=0.004
    )


def test_an_equally_loud_one_stays_for_the_user_to_judge():
    assert len(marks_of(stream(6.0, {**TWO, 2.5: tap()}), 2)) == 3


def test_fewer_are_given_as_they_are():
    assert len(marks_of(stream(6.0, TWO), 6)) == 2
