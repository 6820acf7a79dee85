"""A tap is distinguished from a word, and timed to the sample."""

from __future__ import annotations

import numpy as np
import pytest

from handsfree.timing.noise_floor import FRAME_S, band_powers, noise_of
from handsfree.timing.tap_detection import change_at, impact_row
from tests.timing.sounds import stream, tap, word


def test_the_variance_changes_where_the_sound_begins():
    rng = np.random.default_rng(2)
    samples = np.concatenate((rng.normal(0, 1, 250), rng.normal(0, 12, 230)))

    assert change_at(samples) == pytest.approx(250, abs=3)
    assert change_at(samples[:20]) == 0


@pytest.mark.parametrize("noise_rms", [0.0005, 0.02])
@pytest.mark.parametrize(
    ("sound", "struck"),
    [(tap(), True), (tap(4200), True), (tap(900), True), (word(), False), (word()[1280:], False)],
    ids=["tap", "high", "low", "hiss and voice", "voice"],
)
def test_a_tap_is_soon_gone_and_a_word_is_not(noise_rms: float, sound: np.ndarray, struck: bool):
    powers = band_powers(stream(2.0, {1.0: sound}, noise_rms) / 32768)
    noise, usual = noise_of(powers[:200])

    found = impact_row(powers[200:325], 50, noise, usual)

    assert (found is not None) == struck
    if found is not None:
        assert (200 + found) * FRAME_S == pytest.approx(1.0, abs=0.01)


@pytest.mark.parametrize("noise_rms", [0.0005, 0.004])
def test_a_click_before_a_voice_is_the_start_of_a_word_but_a_clatter_after_a_tap_is_none(
    noise_rms: float,
):
    """'Go' as one person says it: the g bursts 0.15 s before the vowel, and is about as loud."""
    voice = word()[1280:] * 0.85
    clatter = tap(900, 0.03) * 0.8

    def struck_with(later: np.ndarray) -> bool:
        sounds = {1.0: tap(), 1.15: later}
        powers = band_powers(stream(2.0, sounds, noise_rms) / 32768)
        noise, usual = noise_of(powers[:200])
        return impact_row(powers[200:325], 50, noise, usual) is not None

    assert not struck_with(voice)
    assert struck_with(clatter)
    assert struck_with(voice / 10)  # somebody else, farther away
