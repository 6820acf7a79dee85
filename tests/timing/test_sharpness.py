"""The start of a sound among frames and among samples."""

from __future__ import annotations

import numpy as np
import pytest

from handsfree.timing.sharpness import change_at, start_of, uncertainty_s

LONG = 200


def test_a_weak_first_consonant_counts_with_the_gap_after_it():
    ratios = np.full((120, 8), 0.3)
    ratios[30:60, 5:] = 4.0  # the hiss, in three bands
    ratios[80:] = 30.0  # the vowel

    assert start_of(ratios, LONG) == 30


def test_a_passing_rustle_does_not():
    ratios = np.full((120, 8), 0.3)
    ratios[30:34, 5:] = 4.0
    ratios[80:] = 30.0

    assert start_of(ratios, LONG) == 80


def test_the_variance_changes_where_the_sound_begins():
    rng = np.random.default_rng(2)
    samples = np.concatenate((rng.normal(0, 1, 250), rng.normal(0, 12, 230)))

    assert change_at(samples) == pytest.approx(250, abs=3)
    assert change_at(samples[:20]) == 0


def test_a_clearer_start_is_never_less_certain():
    stated = [uncertainty_s(contrast_db, LONG) for contrast_db in range(-5, 60)]

    assert stated == sorted(stated, reverse=True)
    assert 0 < stated[-1] < stated[0] < 0.1
