"""Levels, clipping, hum and silence of sounds with known values."""

from __future__ import annotations

import numpy as np
import pytest

from handsfree.audio.sound_measurements import SILENT_DB, measure

RATE = 16_000


def noise(rms: float, seconds: float = 2.0, seed: int = 1) -> np.ndarray:
    sound = np.random.default_rng(seed).normal(0, rms, round(seconds * RATE))
    return np.clip(np.rint(sound), -32768, 32767).astype(np.int16)


def tone(hz: float, height: float, seconds: float = 2.0) -> np.ndarray:
    return (height * np.sin(2 * np.pi * hz * np.arange(round(seconds * RATE)) / RATE)).astype(
        np.int16
    )


def test_levels_are_those_of_the_sound():
    found = measure(noise(327.68))  # a hundredth of full scale: 40 dB below it
    assert found.floor_db == pytest.approx(-40, abs=1)
    assert found.loud_db == pytest.approx(-40, abs=1)
    assert measure(tone(1000, 16384)).peak_db == pytest.approx(-6.0, abs=0.1)
    assert found.seconds == 2.0


def test_an_offset_is_no_noise():
    assert measure(noise(32.768) + np.int16(500)).floor_db == pytest.approx(-60, abs=1)


def test_a_pause_is_the_floor_and_a_voice_is_not():
    sound = np.concatenate((noise(10), noise(3000)))
    assert measure(sound).floor_db == pytest.approx(-70.3, abs=1)
    assert measure(sound).loud_db == pytest.approx(-20.8, abs=1)


@pytest.mark.parametrize("length", [0, 1, 319, 16_000])
def test_zeros_are_silence_whatever_their_number(length: int):
    found = measure(np.zeros(length, np.int16))
    assert found.silent
    assert (found.floor_db, found.peak_db, found.hum_hz) == (SILENT_DB, SILENT_DB, None)
    assert not measure(np.ones(400, np.int16)).silent


@pytest.mark.parametrize("mains", [50, 60])
def test_the_hum_of_the_mains_is_named_by_its_frequency(mains: int):
    # a supply hums with its second line, and with a third as much of the fourth
    hum = tone(2 * mains, 300) + tone(4 * mains, 100) + noise(20)
    assert measure(hum).hum_hz == mains


@pytest.mark.parametrize("hz", [75, 440])
def test_other_tones_and_noise_are_no_hum(hz: int):
    assert measure(tone(hz, 300) + noise(20)).hum_hz is None
    assert measure(noise(300)).hum_hz is None


def test_a_voice_that_is_cut_off_is_told_from_one_that_is_not(synthesize):
    voice = synthesize("left leaf opening time six point two seconds").astype(float)
    voice *= 20_000 / np.abs(voice).max()
    assert not measure(voice.astype(np.int16)).clipped
    assert measure(np.clip(voice * 4, -32768, 32767).astype(np.int16)).clipped
    # a device may cut off below full scale
    assert measure(np.clip(voice, -7000, 7000).astype(np.int16)).clipped
    assert not measure(noise(20)).clipped
