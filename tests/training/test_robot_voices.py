"""The synthetic voices, if their libraries are installed."""

from pathlib import Path

import numpy as np
import pytest

from handsfree.training import robot_voices

pytest.importorskip("ctts", reason="comes with the train extra")
pytest.importorskip("espeakng_loader", reason="comes with the train extra")
if not (robot_voices._SYSTEM_LIBRARIES / robot_voices._FLITE_LIBRARIES[0]).exists():
    pytest.skip("needs flite's library: apt-get install libflite1", allow_module_level=True)

TEXTS = ["opening time five point five seconds", "stand by", "door one latch check affirmative"]


def read(folder: Path, texts: list[str]) -> dict[int, np.ndarray]:
    return dict(robot_voices.read_all(texts, folder, processes=1))


def test_texts_are_read_aloud_and_the_same_way_again(tmp_path):
    robot_voices.carry(tmp_path)
    texts = TEXTS * 4  # as many as bring every engine
    first = read(tmp_path, texts)
    assert sorted(first) == list(range(len(texts)))
    for number, sound in first.items():
        assert sound.dtype == np.int16
        assert np.abs(sound).max() == pytest.approx(16_000, abs=1)
        a_word_s = len(sound) / robot_voices.RATE_HZ / len(texts[number].split())
        assert 0.12 < a_word_s < 0.9
    again = read(tmp_path, texts)
    assert all(len(again[number]) == len(sound) for number, sound in first.items())


def test_closing_the_reader_ends_it_before_its_texts_do(tmp_path):
    robot_voices.carry(tmp_path)
    reading = robot_voices.read_all(TEXTS * 10_000, tmp_path, processes=1)
    number, _ = next(reading)
    assert number < len(TEXTS * 10_000)
    reading.close()
    assert list(reading) == []


def test_sound_at_another_rate_lasts_as_long_and_keeps_its_tone():
    time = np.arange(22_050) / 22_050
    tone = np.sin(2 * np.pi * 1000 * time).astype(np.float32)
    heard = robot_voices.resampled(tone, 22_050)
    assert len(heard) == robot_voices.RATE_HZ
    assert np.abs(np.fft.rfft(heard)).argmax() == 1000
    assert np.abs(heard).max() == pytest.approx(1.0, abs=0.01)
