"""The net of the onsets: what is trained is what numpy runs, and the sounds start where told."""

from __future__ import annotations

import numpy as np
import torch

from handsfree.timing import onset_net
from handsfree.timing.noise_floor import EDGES, HOP, band_powers
from handsfree.training import onsets


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
    assert (onsets.EDGES, onsets.HOP) == (EDGES, HOP)
    sound = np.random.default_rng(2).normal(0, 0.1, 4000)

    ours = onsets.powers_of(torch.from_numpy(sound)[None])[0].numpy()

    np.testing.assert_allclose(ours, band_powers(sound), rtol=1e-6)


def test_numpy_hears_what_torch_trained(tmp_path):
    net = onsets.OnsetNet(2 * len(EDGES)).eval()
    features = torch.randn(1, 2 * len(EDGES), 300)
    onsets._write(net, tmp_path / "net.npz")

    theirs = onset_net.OnsetNet.read(tmp_path / "net.npz").evidence(features[0].numpy())

    np.testing.assert_allclose(theirs, net(features)[0].detach().numpy(), atol=0.05)


def test_examples_are_finite_and_their_labels_lie_inside():
    torch.manual_seed(3)
    banks = {name: onsets.Bank(packed(), name, "cpu") for name in ("words", "noises", "chatter")}

    features, label = onsets.examples(banks, 6, "cpu", apart=False)

    assert features.shape == (6, 2 * len(EDGES), onsets.FRAMES)
    assert torch.isfinite(features).all()
    inside = label[label < onsets.FRAMES]
    assert ((inside > 0.25 * onsets.FRAMES) & (inside < 0.75 * onsets.FRAMES)).all()
