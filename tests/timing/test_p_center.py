"""The beat of a sound is where its vowel rises, whatever precedes it; and its uncertainty."""

from __future__ import annotations

import os
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from handsfree.sample_rate import SAMPLE_RATE_HZ
from handsfree.timing.noise_floor import band_powers, noise_of
from handsfree.timing.onset_detector import OnsetDetector
from handsfree.timing.p_center import LEAST_S, Beat, beat_in, beat_of
from tests.bench.listening_material import recordings
from tests.bench.timing_material import stream as known_stream
from tests.bench.timing_material import word_mark
from tests.timing.sounds import stream, tap, word, word_beat_s

Sound = NDArray[np.float64]
DATA = Path(
    os.environ.get("HANDSFREE_SPEECH_DATA", Path(__file__).parents[3] / "shared" / "speech")
)


def beat_at_s(sound: Sound, noise_rms: float = 0.0005) -> tuple[float, Beat]:
    """Seconds from the start of a sound to its beat."""
    samples = stream(3.0, {2.0: sound}, noise_rms) / 32768
    noise, usual = noise_of(band_powers(samples[:25600]))
    found = beat_of(samples[30400:41600], (1600, 1600), noise, usual)
    return (30400 + found.sample) / SAMPLE_RATE_HZ - 2.0, found


@pytest.mark.parametrize("seconds", [0.2, 0.35, 0.5])
def test_the_beat_of_a_word_is_where_its_voice_rises(seconds: float):
    at_s, found = beat_at_s(word(seconds))

    assert at_s == pytest.approx(word_beat_s(seconds), abs=0.003)
    assert not found.struck and found.uncertainty_s <= 0.01


def test_a_hiss_before_the_vowel_does_not_move_its_beat():
    """'Ut' and 'shut' fall on the same moment; their first sounds do not."""
    with_hiss, _ = beat_at_s(word())
    without, _ = beat_at_s(word()[1280:])

    assert with_hiss == pytest.approx(without + 0.08, abs=0.003)


def test_a_breath_as_long_as_a_syllable_is_no_vowel():
    """Of 0.36 s: the loudest of the first 0.3 s is in it."""
    breath = np.random.default_rng(4).normal(0, 0.012, round(0.36 * SAMPLE_RATE_HZ))
    at_s, _ = beat_at_s(np.concatenate((breath, word()[1280:])))

    assert at_s == pytest.approx(0.36 + word_beat_s() - 0.08, abs=0.01)


def test_the_next_syllable_moves_nothing():
    late = np.concatenate((word(), np.zeros(1600), 4 * word()))

    assert beat_at_s(late)[0] == pytest.approx(beat_at_s(word())[0], abs=0.002)


@pytest.mark.parametrize("hertz", [700.0, 2100.0, 5000.0])
def test_a_tap_has_its_beat_where_it_is_struck(hertz: float):
    at_s, found = beat_at_s(tap(hertz))

    assert found.struck
    assert at_s == pytest.approx(0.0, abs=0.01)


@pytest.mark.slow
@pytest.mark.parametrize("noise_rms", [0.005, 0.02, 0.05])
def test_what_it_states_covers_the_error_that_noise_makes(noise_rms: float):
    """Of 200 noises, against the voice alone: GUM's 95 % within 1.96 of it, give or take."""
    rng = np.random.default_rng(6)
    voice = np.pad(word(), (32000, 8000))
    within = []
    for _ in range(200):
        heard = voice + rng.normal(0, noise_rms, len(voice))
        found = beat_of(heard[30400:41600], (1600, 1600), *noise_of(band_powers(heard[:25600])))
        at_s = (30400 + found.sample) / SAMPLE_RATE_HZ - 2.0
        within.append(abs(at_s - word_beat_s()) <= 1.96 * found.uncertainty_s)
    assert np.mean(within) >= 0.93


def test_a_word_that_was_made_tells_its_beat_itself():
    sound = np.pad(word(), (700, 300))

    assert beat_in(sound) / SAMPLE_RATE_HZ == pytest.approx(
        700 / SAMPLE_RATE_HZ + word_beat_s(), abs=0.003
    )


def test_a_sound_without_a_vowel_is_known_by_its_start():
    """Where the noise has grown softer since, even its mean may be over all that is there."""
    rng = np.random.default_rng(8)
    noise, usual = noise_of(band_powers(rng.normal(0, 0.05, 25600)))
    hiss = np.pad(np.diff(rng.normal(0, 1e-4, 4001)), (1600, 1600))

    found = beat_of(hiss, (1600, 1600), noise, usual)

    assert found.sample == 1600 and not found.struck
    assert found.uncertainty_s > 0.02


def test_noise_costs_certainty():
    quiet, noisy = (beat_at_s(word(), rms)[1] for rms in (0.0005, 0.05))

    assert quiet.uncertainty_s < noisy.uncertainty_s
    assert quiet.uncertainty_s >= LEAST_S


@pytest.mark.slow
@pytest.mark.skipif(not DATA.is_dir(), reason=f"no recordings at {DATA}")
def test_peoples_words_have_the_beat_that_a_filter_of_scipy_tells():
    """Outside measure: scipy's Butterworth band-pass, both ways, instead of frames."""
    rng = np.random.default_rng(4)
    words = [sample.sound for sample in recordings(DATA, "words")][::25]
    marks = [mark for sound in words if (mark := word_mark(sound)) is not None][:24]
    sound, beats = known_stream(marks, None, np.zeros(1), rng)

    detector = OnsetDetector()
    found = [*detector.feed(sound.astype(np.int16)), *detector.finish()]

    assert len(found) == len(beats)
    off = np.array([mark.sample for mark in found]) - beats
    assert np.abs(off / SAMPLE_RATE_HZ).max() < 0.02
    lags = [(mark.beat - mark.start) / SAMPLE_RATE_HZ for mark in marks]
    assert np.std(lags) > 2 * np.std(off / SAMPLE_RATE_HZ)  # their starts would scatter more
