"""Smoothing with a triangular window, compared with scipy's."""

from __future__ import annotations

import numpy as np
import pytest
import scipy

from handsfree.motion.smooth import noise_gain, smoothed


def test_it_is_scipys_triangular_window() -> None:
    values = np.random.default_rng(1).normal(size=300)
    kernel = scipy.signal.windows.bartlett(23)[1:-1]
    expected = np.convolve(values, kernel / kernel.sum(), mode="same")
    np.testing.assert_allclose(smoothed(values, 0.01, 0.2)[30:-30], expected[30:-30], atol=1e-12)


def test_it_never_overshoots_and_keeps_a_level() -> None:
    step = np.where(np.arange(200) < 100, 0.0, 20.0)
    out = smoothed(step, 0.01, 0.2)
    assert out.max() <= 20.0 + 1e-12 and out.min() >= -1e-12
    np.testing.assert_allclose(smoothed(np.full(50, 7.0), 0.01, 0.2), 7.0)


def test_the_noise_gain_is_that_of_noise() -> None:
    noise = np.random.default_rng(2).normal(size=200_000)
    assert smoothed(noise, 0.01, 0.2).std() == pytest.approx(noise_gain(0.01, 0.2), rel=0.03)
