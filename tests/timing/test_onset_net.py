"""The shipped net: its shape, its reach, and its invariance in time."""

from __future__ import annotations

import numpy as np
import pytest

from handsfree.timing.noise_floor import EDGES, HOP, band_powers, noise_of
from handsfree.timing.onset_net import REACH, OnsetNet, features_of
from tests.timing.sounds import stream, word


@pytest.fixture(scope="module")
def heard() -> np.ndarray:
    """Features of 6 s with a word at 3 s."""
    powers = band_powers(stream(6.0, {3.0: word()}) / 32768)
    return features_of(powers, *noise_of(powers[:400]), 0.076**2)


def test_the_evidence_is_greatest_where_the_word_begins(heard):
    evidence = OnsetNet.load().evidence(heard)

    assert np.argmax(evidence) == pytest.approx(3.0 * 16000 / HOP, abs=2)
    assert evidence.max() > 2
    assert np.sort(evidence)[len(evidence) // 2] < -3


def test_it_looks_no_farther_than_its_reach(heard):
    net, frame = OnsetNet.load(), 700
    near = heard.copy()
    near[:, : frame - REACH] = 0
    near[:, frame + REACH + 1 :] = 0

    assert net.evidence(near)[frame] == pytest.approx(net.evidence(heard)[frame], abs=1e-3)


def test_a_shift_in_time_shifts_the_evidence(heard):
    net = OnsetNet.load()
    inside = slice(REACH + 50, -REACH - 50)

    moved = net.evidence(np.roll(heard, 50, axis=1))

    assert np.roll(net.evidence(heard), 50)[inside] == pytest.approx(moved[inside], abs=1e-3)


def test_the_voice_is_told_or_not():
    powers = np.full((10, len(EDGES) - 1), 1e-4)
    noise, usual = noise_of(powers)

    told, not_told = (features_of(powers, noise, usual, power) for power in (1e-4, None))

    assert told.shape == not_told.shape == (2 * len(EDGES), 10)
    assert (told[-2:, 0] == pytest.approx([0.0, 1.0], abs=1e-4)) and not not_told[-2:].any()
