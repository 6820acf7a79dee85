"""The acoustics between mouth and microphone: levels are as specified."""

from __future__ import annotations

import math

import numpy as np
import pytest

from handsfree.rehearsal.room_acoustics import ROOM_RMS, VOICE_RMS, Room
from handsfree.sample_rate import SAMPLE_RATE_HZ

TONE = np.sqrt(2) * np.sin(2 * np.pi * 440 * np.arange(SAMPLE_RATE_HZ) / SAMPLE_RATE_HZ)


def rms(samples) -> float:
    return math.sqrt(float(np.mean(np.asarray(samples, np.float64) ** 2)))


def test_a_quiet_room_hisses_a_little():
    assert rms(Room().silence(2.0)) == pytest.approx(ROOM_RMS, rel=0.05)


@pytest.mark.parametrize("snr_db", [20.0, 10.0, 5.0])
def test_noise_lies_so_far_below_the_voice(snr_db):
    noise = np.random.default_rng(2).normal(0, 300, 40_000)
    expected = VOICE_RMS / math.sqrt(2) * 10 ** (-snr_db / 20)
    assert rms(Room(snr_db=snr_db, noise=noise).silence(2.5)) == pytest.approx(expected, rel=0.03)


def test_a_voice_comes_at_its_second_and_its_level():
    sound = Room().with_voices(3.0, [(1.0, TONE)])
    assert rms(sound[: SAMPLE_RATE_HZ - 100]) < 2 * ROOM_RMS
    assert rms(sound[SAMPLE_RATE_HZ : 2 * SAMPLE_RATE_HZ]) == pytest.approx(VOICE_RMS, rel=0.01)


def test_a_stranger_is_farther_away():
    far = Room(stranger_db=10.0).with_voices(1.0, [(0.0, TONE)], near=False)
    assert rms(far) == pytest.approx(VOICE_RMS / math.sqrt(10), rel=0.02)


def test_an_echo_dies_away_in_its_time():
    click = np.zeros(160)
    click[0] = 12.0
    sound = Room(echo_s=0.5).with_voices(1.5, [(0.1, click)]).astype(float)
    at = round(0.1 * SAMPLE_RATE_HZ)
    early, late = rms(sound[at + 200 : at + 1800]), rms(sound[at + 6400 : at + 8000])
    assert early > 4 * late
    assert rms(sound[at + SAMPLE_RATE_HZ :]) < 2 * ROOM_RMS


def test_noise_goes_on_from_piece_to_piece_and_by_seed():
    noise = np.arange(1.0, 64_001.0)
    one, two, other = (Room(snr_db=0.0, noise=noise, seed=seed) for seed in (1, 1, 2))
    first = one.silence(0.5)
    assert np.array_equal(first, two.silence(0.5))
    assert not np.array_equal(first, other.silence(0.5))
    step = float(np.median(np.diff(one.silence(0.5).astype(float))))
    assert step >= 0.0


def test_a_voice_longer_than_the_piece_is_cut():
    assert len(Room().with_voices(0.5, [(0.2, TONE)])) == SAMPLE_RATE_HZ // 2


def test_a_voice_from_the_side_is_weaker_the_higher_it_is():
    seconds = np.arange(SAMPLE_RATE_HZ) / SAMPLE_RATE_HZ
    for hertz, weaker_db in ((400, 0), (1000, 3), (4000, 9)):
        tone = np.sqrt(2) * np.sin(2 * np.pi * hertz * seconds)
        front, side = (
            Room(off_axis_db=off_db).with_voices(1.0, [(0.0, tone)]).astype(float)
            for off_db in (0.0, 12.0)
        )
        found_db = 20 * np.log10(np.std(front) / np.std(side))
        assert abs(found_db - weaker_db) < 0.2
