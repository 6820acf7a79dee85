from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from numpy.typing import NDArray

from handsfree.audio.gain import amplified

RATE = 8000


def sine(amplitude: float, seconds: float = 0.5) -> NDArray[np.int16]:
    time_s = np.arange(round(seconds * RATE)) / RATE
    return np.rint(amplitude * np.sin(2 * np.pi * 200 * time_s)).astype(np.int16)


def rms(samples: NDArray[np.int16]) -> float:
    return float(np.sqrt(np.mean(samples.astype(float) ** 2)))


def test_without_a_gain_nothing_changes() -> None:
    sound = sine(32_767)
    assert np.array_equal(amplified(sound, RATE, 0), sound)


@pytest.mark.parametrize("gain_db", [-15.0, -5.0, 5.0, 10.0])
def test_below_the_ceiling_the_gain_is_exact(gain_db: float) -> None:
    louder = amplified(sine(8000), RATE, gain_db)
    assert 20 * np.log10(rms(louder) / rms(sine(8000))) == pytest.approx(gain_db, abs=0.01)


@pytest.mark.slow
@given(arrays(np.int16, st.integers(0, 600)), st.floats(-15, 10))
def test_no_sound_is_ever_clipped(samples: NDArray[np.int16], gain_db: float) -> None:
    changed = amplified(samples, RATE, gain_db)
    assert len(changed) == len(samples)
    if gain_db != 0:
        assert np.abs(changed.astype(int)).max(initial=0) <= 32_000
        assert np.all(np.sign(changed) * np.sign(samples) >= 0)


def test_one_peak_takes_nothing_from_what_is_far_from_it() -> None:
    sound = np.concatenate((sine(3000), sine(30_000, 0.02), sine(3000)))
    louder = amplified(sound, RATE, 10)
    assert 20 * np.log10(rms(louder[:3800]) / rms(sound[:3800])) == pytest.approx(10, abs=0.01)


def test_a_held_down_tone_stays_a_tone() -> None:
    """Clipped at that level it would have harmonics 13 dB below it, not 60."""
    held = amplified(sine(30_000), RATE, 10)[800:3200]
    spectrum = np.abs(np.fft.rfft(held * np.hanning(len(held))))
    fundamental = spectrum[50:71].max()
    assert spectrum[100:].max() < 0.001 * fundamental
