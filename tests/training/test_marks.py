"""The training material of the onset nets: sounds cut at their start, held out by name."""

from __future__ import annotations

import numpy as np
import pytest

from handsfree.sample_rate import SAMPLE_RATE_HZ
from handsfree.training.marks import (
    APART_NOISES,
    BEGINNING_S,
    _beginning,
    _cuts,
    _in_eight_bits,
    kept_apart,
)


def sentence(seconds: float = 2.0) -> np.ndarray:
    """Half a second of a quiet room, then a voice that rises over 20 ms."""
    rng = np.random.default_rng(3)
    voice = 3000 * np.sin(
        2 * np.pi * 300 * np.arange(round(seconds * SAMPLE_RATE_HZ)) / SAMPLE_RATE_HZ
    )
    rise = np.clip(np.arange(len(voice)) / 320, 0, 1)
    quiet = np.zeros(SAMPLE_RATE_HZ // 2)
    return np.concatenate((quiet, voice * rise)) + rng.normal(0, 3, len(quiet) + len(voice))


def test_the_beginning_of_a_sentence_is_cut_like_a_word():
    begun = _beginning(sentence())

    low, high = BEGINNING_S
    assert 0.45 + low <= len(begun) / SAMPLE_RATE_HZ <= 0.55 + high
    assert np.array_equal(begun, _beginning(sentence()))
    for sound, apart in _cuts(begun, apart=True):
        assert apart
        assert np.sqrt(np.mean(sound[160:2000] ** 2)) == pytest.approx(2500, rel=0.2)


def test_eight_bits_are_heard_as_what_they_were():
    sound = np.array([-32768.0, -300.0, 0.0, 5.0, 2500.0, 32768.0])
    companded = _in_eight_bits(sound).astype(float) / 127

    back = np.sign(companded) * (256 ** np.abs(companded) - 1) / 255 * 32768

    assert back == pytest.approx(sound, rel=0.03, abs=3)


def test_a_tenth_of_the_speakers_and_the_named_noises_are_kept_apart():
    speakers = [kept_apart(f"speaker-{nth}") for nth in range(2000)]

    assert np.mean(speakers) == pytest.approx(0.1, abs=0.02)
    assert all(kept_apart(f"noise/x{name}x.ogg") for name in APART_NOISES)
    assert not kept_apart("noise/blanket__waves.ogg")
