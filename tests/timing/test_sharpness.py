"""The start of a sound among frames and among samples, and how well it is known."""

from __future__ import annotations

import numpy as np
import pytest

from handsfree.timing.noise_floor import FRAME_S
from handsfree.timing.sharpness import LEAST_S, change_at, middle_of, uncertainty_s


def two_starts(early: float, late: float, apart: int = 20) -> np.ndarray:
    """Odds of a breath at frame 40 and of a vowel some frames later."""
    odds = np.full(100, 1e-6)
    odds[40], odds[40 + apart] = early, late
    return odds


def test_the_variance_changes_where_the_sound_begins():
    rng = np.random.default_rng(2)
    samples = np.concatenate((rng.normal(0, 1, 250), rng.normal(0, 12, 230)))

    assert change_at(samples) == pytest.approx(250, abs=3)
    assert change_at(samples[:20]) == 0


def test_one_start_is_where_its_odds_are():
    middle, spread = middle_of(two_starts(1000.0, 0.0))

    assert middle == pytest.approx(40, abs=0.01)
    assert spread < 0.1


def test_of_two_starts_the_middle_leans_to_the_likelier():
    middle, spread = middle_of(two_starts(300.0, 100.0))

    assert middle == pytest.approx(45, abs=0.01)
    assert spread == pytest.approx(20 * (0.75 * 0.25) ** 0.5, rel=0.01)


def test_the_stated_uncertainty_reaches_the_other_start_unless_it_is_unlikely():
    sure, unlikely, even = (
        uncertainty_s(odds, middle_of(odds)[0])
        for odds in (two_starts(1e4, 1.0), two_starts(1e4, 100.0), two_starts(1.0, 1.0))
    )

    assert sure == unlikely == LEAST_S
    assert even == pytest.approx(10 * FRAME_S / 1.96, rel=0.1)


@pytest.mark.parametrize("spread", [2.0, 8.0, 20.0])
def test_it_covers_a_normal_error_at_least_as_often_as_it_says(spread: float):
    """98.5 % of the evidence within 1.96 of it, against the normal distribution's own 95 %."""
    odds = np.exp(-0.5 * ((np.arange(121) - 60) / spread) ** 2)

    stated = uncertainty_s(odds, 60.0) / FRAME_S

    assert stated == pytest.approx(spread * 2.43 / 1.96, abs=0.6)
