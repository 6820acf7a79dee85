from __future__ import annotations

import numpy as np
import pytest

from handsfree.speech.level import snr_db


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
