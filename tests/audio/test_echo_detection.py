"""The tool's own voice is found in the microphone's sound, and nowhere else."""

from __future__ import annotations

import numpy as np
import pytest

from handsfree.audio.echo_detection import find_echo

RATE = 16_000
AFTER_S = 0.375


@pytest.fixture(scope="module")
def phrase(synthesize) -> np.ndarray:
    return synthesize("this is the loudspeaker one two three four five six")


def heard(phrase: np.ndarray, gain: float, noise_rms: float, seed: int) -> np.ndarray:
    """The phrase as a microphone hears it: late, with a room's reflections, in noise."""
    rng = np.random.default_rng(seed)
    sound = rng.normal(0, noise_rms, len(phrase) + 2 * RATE)
    room = np.zeros(4000)
    room[0], room[rng.integers(100, 3900, 12)] = 1, rng.normal(0, 0.3, 12)
    echo = np.convolve(phrase * gain, room)
    start = round(AFTER_S * RATE)
    sound[start : start + len(echo)] += echo
    return np.clip(np.rint(sound), -32768, 32767).astype(np.int16)


@pytest.mark.parametrize("over_noise_db", [20, 0, -15])
@pytest.mark.parametrize("seed", range(4))
def test_an_echo_is_heard_with_its_delay_and_level(phrase, over_noise_db: int, seed: int):
    rms = float(np.sqrt(np.mean(phrase.astype(float) ** 2)))
    gain = 300 * 10 ** (over_noise_db / 20) / rms
    echo = find_echo(phrase, heard(phrase, gain, 300, seed))
    assert echo.heard
    assert echo.delay_s == pytest.approx(AFTER_S, abs=0.002)
    expected_db = 20 * np.log10(300 / 32768) + over_noise_db
    assert echo.level_db == pytest.approx(expected_db, abs=3)


@pytest.mark.parametrize("seed", range(20))
def test_noise_is_no_echo(phrase, seed: int):
    assert not find_echo(phrase, heard(phrase, 0.0, 300, seed)).heard


def test_somebody_who_speaks_meanwhile_is_no_echo(phrase, synthesize):
    other = synthesize("the cafeteria downstairs has wonderful pancakes and coffee every day")
    assert not find_echo(phrase, np.concatenate((other, other, other))).heard


def test_silence_is_no_echo(phrase):
    assert not find_echo(phrase, np.zeros(3 * RATE, np.int16)).heard
    assert not find_echo(np.zeros(RATE, np.int16), phrase).heard
