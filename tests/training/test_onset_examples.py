"""The examples of the onset nets have the detector's bands, and their marks are inside."""

from __future__ import annotations

import numpy as np
import torch

from handsfree.timing.noise_floor import EDGES, HOP, band_powers
from handsfree.training import onset_examples


def packed() -> dict[str, np.ndarray]:
    rng = np.random.default_rng(1)
    sounds = {"words": 8000, "noises": 20000, "chatter": 9000}
    return {
        key: value
        for name, length in sounds.items()
        for key, value in {
            name: rng.integers(-60, 60, 3 * length).astype(np.int8),
            f"{name}_ends": np.arange(4) * length,
            f"{name}_apart": np.array([False, False, True]),
        }.items()
    }


def test_the_bands_are_those_of_the_detector():
    assert (onset_examples.EDGES, onset_examples.HOP) == (EDGES, HOP)
    sound = np.random.default_rng(2).normal(0, 0.1, 4000)

    ours = onset_examples.powers_of(torch.from_numpy(sound)[None])[0].numpy()

    np.testing.assert_allclose(ours, band_powers(sound), rtol=1e-6)


def test_examples_are_finite_and_their_labels_lie_inside():
    torch.manual_seed(3)
    banks = {
        name: onset_examples.Bank(packed(), name, "cpu") for name in ("words", "noises", "chatter")
    }

    features, label = onset_examples.examples(banks, 6, "cpu", apart=False)

    assert features.shape == (6, 2 * len(EDGES), onset_examples.FRAMES)
    assert torch.isfinite(features).all()
    inside = label[label < onset_examples.FRAMES]
    assert ((inside > 0.25 * onset_examples.FRAMES) & (inside < 0.75 * onset_examples.FRAMES)).all()
