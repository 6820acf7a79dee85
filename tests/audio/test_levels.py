from __future__ import annotations

import numpy as np
import pytest

from handsfree.audio.levels import LOUD_RMS, leveled, snr_db


@pytest.mark.parametrize("true_db", [5, 10, 20, 30])
def test_the_level_over_the_noise_is_found_within_two_decibels(true_db):
    """A tone of known power for a second, between half seconds of noise alone."""
    rng = np.random.default_rng(true_db)
    noise = rng.normal(0, 100, 32000)
    voice = np.zeros(32000)
    amplitude = 100 * np.sqrt(2) * 10 ** (true_db / 20)
    voice[8000:24000] = amplitude * np.sin(2 * np.pi * 300 * np.arange(16000) / 16000)
    samples = np.clip(noise + voice, -32768, 32767).astype(np.int16)
    assert snr_db(samples) == pytest.approx(true_db, abs=2)


def test_silence_has_a_level_too():
    assert snr_db(np.zeros(16000, np.int16)) == 0
    assert snr_db(np.zeros(10, np.int16)) == 0


@pytest.mark.parametrize("amplitude", [60, 2000, 30000])
def test_a_voice_is_brought_to_one_level_whatever_it_was(amplitude):
    samples = np.zeros(32000)
    samples[8000:24000] = amplitude * np.sin(2 * np.pi * 300 * np.arange(16000) / 16000)
    loud = leveled(np.rint(samples).astype(np.int16))[9000:23000]
    assert np.sqrt(np.mean(loud**2)) == pytest.approx(LOUD_RMS, rel=0.02)


def test_silence_stays_silent_and_a_click_is_no_voice():
    assert not leveled(np.zeros(16000, np.int16)).any()
    click = np.zeros(16000, np.int16)
    click[100] = 20000
    assert np.abs(leveled(click)).max() <= 20000 * 100
    assert len(leveled(np.ones(10, np.int16))) == 10
