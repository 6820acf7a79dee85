"""Marks are found once, at their beats, however the stream is divided."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from handsfree.sample_rate import SAMPLE_RATE_HZ
from handsfree.timing.mark import Mark
from handsfree.timing.onset_detector import OnsetDetector
from handsfree.timing.onset_net import OnsetNet
from tests.bench.timing_material import beat_in
from tests.timing.sounds import opening_voice, stream, tap, word, word_beat_s

MIXED = stream(7.0, {1.0: tap(), 2.7: word(), 4.2: tap(900), 5.5: word()})


def marks_in(samples: NDArray[np.int16], block: int = 320, **options: float) -> list[Mark]:
    detector = OnsetDetector(**options)
    found: list[Mark] = []
    for first in range(0, len(samples), block):
        found += detector.feed(samples[first : first + block])
    return [*found, *detector.finish()]


BEAT_S = word_beat_s()
MIXED_MARKS = marks_in(MIXED)


def true_beat_s(sound: NDArray[np.float64]) -> float:
    """By the bench's filter, which is scipy's and no part of the detector."""
    return (beat_in(np.pad(32768 * sound, (160, 0)), 160) - 160) / SAMPLE_RATE_HZ


def test_taps_are_found_where_they_begin_and_words_at_their_beat():
    found = MIXED_MARKS

    beats = [1.0, 2.7 + BEAT_S, 4.2, 5.5 + BEAT_S]
    assert [mark.at_s for mark in found] == pytest.approx(beats, abs=0.006)
    assert all(mark.snr_db > 20 and mark.uncertainty_s <= 0.01 for mark in found)


@pytest.mark.slow
@given(st.lists(st.integers(1, 9000), min_size=1, max_size=30))
@settings(max_examples=15, deadline=None)
def test_the_same_samples_give_the_same_marks_however_they_are_cut(sizes: list[int]):
    detector = OnsetDetector()
    found: list[Mark] = []
    at = 0
    for size in sizes:
        found += detector.feed(MIXED[at : at + size])
        at += size
    found += detector.feed(MIXED[at:])
    found += detector.finish()

    assert found == MIXED_MARKS


def test_float_and_integer_samples_give_the_same_marks():
    assert marks_in((MIXED / 32768).astype(np.float32)) == MIXED_MARKS


@pytest.mark.slow
def test_the_clock_counts_from_the_first_sample_of_a_long_stream():
    """Long after its first samples were forgotten."""
    (found,) = marks_in(stream(61.0, {60.0: tap()}))

    assert found.sample == pytest.approx(60 * SAMPLE_RATE_HZ, abs=2)


def test_an_echo_and_the_leafs_own_thump_are_no_second_mark():
    thump = tap(300, 0.2)
    found = marks_in(stream(4.0, {1.0: tap(), 1.09: 0.4 * tap(), 1.3: thump, 2.4: tap()}))

    assert [mark.at_s for mark in found] == pytest.approx([1.0, 2.4], abs=0.002)


@pytest.mark.slow
def test_a_machine_that_starts_is_no_mark_and_hides_none():
    hum = 0.01 * np.random.default_rng(8).normal(0, 1, 6 * SAMPLE_RATE_HZ)
    found = marks_in(stream(8.0, {1.0: hum, 5.0: tap()}))

    assert [mark.at_s for mark in found] == pytest.approx([5.0], abs=0.002)


@pytest.mark.parametrize("softer", [0.05, 0.4])
def test_a_long_soft_beginning_moves_the_beat_of_its_word_nowhere(softer: float):
    """'No' with an n of half a second, 25 dB below the vowel and 7 dB."""
    hum = 0.15 * np.sin(2 * np.pi * 220 * np.arange(8000) / SAMPLE_RATE_HZ)
    vowel = 3 * word()[1280:]
    found = marks_in(stream(4.0, {2.0: np.concatenate((softer * hum, vowel))}), least_rms=0.05)

    assert [mark.at_s for mark in found] == pytest.approx([2.5 + BEAT_S - 0.08], abs=0.01)


@pytest.mark.slow
@pytest.mark.parametrize("softer_db", [0.0, 3.0, 6.0])
@pytest.mark.parametrize("hum_s", [0.16, 0.2])
def test_a_beginning_that_is_hardly_softer_belongs_to_its_word(hum_s: float, softer_db: float):
    """A voice that opens after a while: the nets hear it begin there, up to 0.19 s late."""
    sound = opening_voice(hum_s, softer_db)
    found = marks_in(stream(6.0, {2.0: tap(), 4.0: sound}, 0.0002))

    assert [mark.at_s for mark in found] == pytest.approx([2.0, 4.0 + true_beat_s(sound)], abs=0.01)


@pytest.mark.parametrize("before_s", [0.15, 0.4, 0.9])
@pytest.mark.parametrize(
    ("sound", "beat_s", "hiss_rms"), [(tap(), 0.0, 0.008), (word(), BEAT_S, 0.004)]
)
def test_something_softer_that_goes_on_before_a_mark_does_not_move_it(
    sound: NDArray[np.float64], beat_s: float, hiss_rms: float, before_s: float
):
    """A hiss in a quiet room: of a machine, or of somebody who breathes in."""
    hiss = np.random.default_rng(11).normal(0, hiss_rms, round((before_s + 0.2) * SAMPLE_RATE_HZ))
    found = marks_in(stream(5.0, {3.0 - before_s: hiss, 3.0: sound}))

    assert [mark.at_s for mark in found] == pytest.approx([3.0 + beat_s], abs=0.012)


class _FakeNet:
    """As sure as it is told that something begins, so many frames after its loudest one."""

    def __init__(self, evidence: float, late: int) -> None:
        self._evidence, self._late = evidence, late

    def evidence(self, features: NDArray[np.float32]) -> NDArray[np.float64]:
        level = features[:16].mean(axis=0)
        evidence = np.full(len(level), -20.0)
        frame = int(np.argmax(level)) + self._late
        if level.max() > 0.5 and frame < len(level):
            evidence[frame] = self._evidence
        return evidence


def test_a_tap_that_is_over_when_the_nets_are_surest_is_as_loud_as_it_was(
    monkeypatch: pytest.MonkeyPatch,
):
    monkeypatch.setattr(OnsetNet, "load", lambda: _FakeNet(8.0, 6))
    at_s = np.arange(800) / SAMPLE_RATE_HZ
    short = 0.2 * np.sin(2 * np.pi * 1500 * at_s + 1.2) * np.exp(-at_s / 0.003)
    found = marks_in(stream(4.0, {2.0: short}, 0.005), least_rms=0.04)

    assert [mark.at_s for mark in found] == pytest.approx([2.0], abs=0.002)


@pytest.mark.parametrize(("size", "marks"), [(0.4, 1), (0.1, 0)])
def test_what_stands_far_over_the_noise_needs_less_evidence(
    size: float, marks: int, monkeypatch: pytest.MonkeyPatch
):
    """By some 25 dB and 13 dB, where the odds are two to one."""
    monkeypatch.setattr(OnsetNet, "load", lambda: _FakeNet(float(np.log(2)), 0))

    assert len(marks_in(stream(4.0, {2.0: size * tap()}, 0.005))) == marks


def test_a_long_soft_sound_does_not_hide_a_mark():
    """A hum of 2 s below the level that counts, in which a word is said."""
    hum = 0.04 * np.sin(2 * np.pi * 150 * np.arange(2 * SAMPLE_RATE_HZ) / SAMPLE_RATE_HZ)
    found = marks_in(stream(5.0, {1.5: hum, 2.3: 3 * word()}), least_rms=0.05)

    assert [mark.at_s for mark in found] == pytest.approx([2.3 + BEAT_S], abs=0.01)


@pytest.mark.parametrize("hiss_s", [0.08, 0.16, 0.3])
def test_a_word_sounds_to_its_end_however_long_the_soft_hiss_it_begins_with(hiss_s: float):
    """'Shut': it is as loud as its vowel, and its vowel is not taken for the noise of the room."""
    hiss = np.diff(np.random.default_rng(3).normal(0, 0.006, round(hiss_s * SAMPLE_RATE_HZ) + 1))
    vowel = word()[1280:]
    (mark,) = marks_in(stream(4.0, {2.0: np.concatenate((hiss, vowel))}))

    assert mark.end_sample / SAMPLE_RATE_HZ == pytest.approx(2.0 + hiss_s + 0.27, abs=0.05)
    assert mark.snr_db == pytest.approx(52.0, abs=1.0)


def test_the_loud_middle_of_a_word_is_no_second_mark():
    assert len(marks_in(stream(4.0, {1.0: word(1.0)}))) == 1


@pytest.mark.slow
def test_softer_sounds_do_not_count_where_the_voice_is_known():
    sound = stream(4.0, {1.0: word(), 2.5: 0.1 * tap()})

    assert len(marks_in(sound)) == 2
    assert [mark.at_s for mark in marks_in(sound, least_rms=0.05)] == pytest.approx(
        [1.0 + BEAT_S], abs=0.004
    )


def test_noise_costs_certainty_and_says_so():
    quiet, noisy = (marks_in(stream(3.0, {1.5: word()}, rms))[0] for rms in (0.0005, 0.05))

    assert noisy.snr_db < quiet.snr_db - 20
    assert noisy.uncertainty_s > quiet.uncertainty_s
    assert abs(noisy.at_s - 1.5 - BEAT_S) <= 2 * noisy.uncertainty_s


def test_clipped_sound_is_told():
    found = marks_in(stream(4.0, {1.0: word(), 2.5: 20 * word()}))

    assert [mark.clipped for mark in found] == [False, True]


def test_a_mark_cut_off_by_the_end_is_given():
    assert len(marks_in(stream(1.6, {1.0: word(0.6)}))) == 1


@pytest.mark.slow
@pytest.mark.parametrize("noise_rms", [0.0, 0.0005, 0.05])
def test_steady_noise_alone_marks_nothing(noise_rms: float):
    assert not marks_in(stream(20.0, {}, noise_rms))
