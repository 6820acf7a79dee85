"""The features, compared with other programs' for the same sound."""

from __future__ import annotations

import numpy as np
import pytest

from handsfree.sample_rate import SAMPLE_RATE_HZ
from handsfree.second_ear.log_mel import FRAMES, log_mel, mel_filters


@pytest.fixture(scope="module")
def noise() -> np.ndarray:
    """Two seconds that swell: every band has something in it."""
    rng = np.random.default_rng(1)
    swell = np.linspace(0.01, 1.0, 2 * SAMPLE_RATE_HZ)
    return (rng.normal(size=2 * SAMPLE_RATE_HZ) * 3000 * swell).astype(np.int16)


@pytest.mark.parametrize(
    ("band", "first_bin", "weights"),
    [
        (0, 1, [0.0248626]),
        (24, 23, [0.0189355, 0.0059271]),
        (60, 90, [0.0014345, 0.0034412, 0.0054479, 0.0065911, 0.00466, 0.0027289, 0.0007978]),
        (79, 186, [0.0003667, 0.0008331, 0.0012994, 0.0017657, 0.0022321, 0.0026984]),
    ],
)
def test_the_filters_are_those_that_were_published(band, first_bin, weights):
    """Values of mel_filters.npz in the source package openai-whisper 20250625 (seen)."""
    row = mel_filters()[band]
    assert row.nonzero()[0][0] == first_bin
    assert row[row.nonzero()[0]][: len(weights)] == pytest.approx(weights, abs=1e-7)


@pytest.mark.slow
def test_the_features_are_those_of_kaldi_native_fbank(noise):
    """An independent C++ program's Whisper features; it starts its windows half a step later."""
    fbank = pytest.importorskip("kaldi_native_fbank")
    options = fbank.WhisperFeatureOptions()
    options.dim = 80
    other = fbank.OnlineWhisperFbank(options)
    padded = np.zeros(30 * SAMPLE_RATE_HZ, np.float32)
    padded[80 : 80 + len(noise)] = noise / 32768
    other.accept_waveform(SAMPLE_RATE_HZ, padded.tolist())
    other.input_finished()
    power = np.stack([other.get_frame(nth) for nth in range(FRAMES)]).T
    levels = np.log10(np.maximum(power, 1e-10))
    expected = (np.maximum(levels, levels.max() - 8) + 4) / 4
    # The first window is the one that reaches over the beginning, which the two mirror
    # differently.
    assert np.abs(log_mel(noise) - expected)[:, 1:].max() < 1e-2
    assert np.abs(log_mel(noise) - expected)[:, 3:].max() < 1e-4


def test_the_features_are_those_of_librosa(noise):
    """Another program in Python; it is no dependency, so this runs where somebody has it."""
    librosa = pytest.importorskip("librosa")
    padded = np.zeros(30 * SAMPLE_RATE_HZ, np.float32)
    padded[: len(noise)] = noise / 32768
    spectrum = librosa.stft(padded, n_fft=400, hop_length=160, window="hann", pad_mode="reflect")
    power = (
        librosa.filters.mel(sr=SAMPLE_RATE_HZ, n_fft=400, n_mels=80) @ np.abs(spectrum[:, :-1]) ** 2
    )
    levels = np.log10(np.maximum(power, 1e-10))
    expected = (np.maximum(levels, levels.max() - 8) + 4) / 4
    assert np.abs(log_mel(noise) - expected).max() < 1e-5


def test_a_tone_stands_in_the_band_around_it():
    """Band 24 of the published filters is centered near 1 kHz (15 mel of 45.2, 81 edges)."""
    at = np.arange(SAMPLE_RATE_HZ) / SAMPLE_RATE_HZ
    tone = (8000 * np.sin(2 * np.pi * 1000 * at)).astype(np.int16)
    assert log_mel(tone)[:, 50].argmax() in (25, 26)


@pytest.mark.parametrize("length", [0, 1, 400, 30 * SAMPLE_RATE_HZ, 31 * SAMPLE_RATE_HZ])
def test_any_length_gives_the_same_shape(length):
    features = log_mel(np.full(length, 100, np.int16))
    assert features.shape == (80, FRAMES)
    assert features.dtype == np.float32
    assert np.isfinite(features).all()


def test_nothing_is_more_than_eighty_decibels_below_the_loudest(noise):
    features = log_mel(noise)
    assert features.max() - features.min() == pytest.approx(2.0, abs=1e-6)


def test_the_beginning_of_a_long_sound_is_heard(noise):
    long = np.tile(noise, 20)
    assert np.array_equal(log_mel(long), log_mel(long[: 30 * SAMPLE_RATE_HZ]))
