"""The net of the onsets: what is trained is what numpy runs, and the sounds start where told."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import torch

from handsfree.timing import onset_net
from handsfree.timing.noise_floor import EDGES, HOP, band_powers
from handsfree.training import onset_training


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
    assert (onset_training.EDGES, onset_training.HOP) == (EDGES, HOP)
    sound = np.random.default_rng(2).normal(0, 0.1, 4000)

    ours = onset_training.powers_of(torch.from_numpy(sound)[None])[0].numpy()

    np.testing.assert_allclose(ours, band_powers(sound), rtol=1e-6)


def test_numpy_hears_what_torch_trained(tmp_path):
    net = onset_training.OnsetNet(2 * len(EDGES)).eval()
    features = torch.randn(1, 2 * len(EDGES), 300)
    onset_training._write(net, tmp_path / "net.npz")

    theirs = onset_net.OnsetNet.read(tmp_path / "net.npz").evidence(features[0].numpy())

    np.testing.assert_allclose(theirs, net(features)[0].detach().numpy(), atol=0.05)


def test_two_runs_of_the_command_make_the_file_that_ships(tmp_path, monkeypatch):
    """Two steps each, on noise: its nets know nothing, but they are as many and as large."""
    np.savez(tmp_path / "marks.npz", **packed())
    one, both = tmp_path / "one.npz", tmp_path / "both.npz"
    for more in ([str(one), "--seed", "1"], [str(both), "--seed", "2", "--beside", str(one)]):
        short = ["--steps", "2", "--batch", "3"]
        monkeypatch.setattr("sys.argv", ["onsets", str(tmp_path / "marks.npz"), *more, *short])
        onset_training.main()

    shipped = np.load(Path(onset_net.__file__).with_name("onset_net.npz"))
    made = np.load(both)

    assert {name: made[name].shape for name in made.files} == {
        name: shipped[name].shape for name in shipped.files
    }
    assert {made[name].dtype for name in made.files} == {
        shipped[name].dtype for name in shipped.files
    }
    assert len(onset_net.OnsetNet.read(both).members) == 2
    assert not np.array_equal(made["0.last.weight"], made["1.last.weight"])


def test_the_mean_of_the_nets_is_what_is_heard(tmp_path):
    nets = [onset_training.OnsetNet(2 * len(EDGES)).eval() for _ in range(2)]
    onset_training._write(nets[0], tmp_path / "one.npz")
    onset_training._write(nets[1], tmp_path / "both.npz", tmp_path / "one.npz")
    features = torch.randn(1, 2 * len(EDGES), 200)

    theirs = onset_net.OnsetNet.read(tmp_path / "both.npz").evidence(features[0].numpy())

    ours = sum(net(features)[0].detach().numpy() for net in nets) / 2
    np.testing.assert_allclose(theirs, ours, atol=0.05)


def test_examples_are_finite_and_their_labels_lie_inside():
    torch.manual_seed(3)
    banks = {
        name: onset_training.Bank(packed(), name, "cpu") for name in ("words", "noises", "chatter")
    }

    features, label = onset_training.examples(banks, 6, "cpu", apart=False)

    assert features.shape == (6, 2 * len(EDGES), onset_training.FRAMES)
    assert torch.isfinite(features).all()
    inside = label[label < onset_training.FRAMES]
    assert ((inside > 0.25 * onset_training.FRAMES) & (inside < 0.75 * onset_training.FRAMES)).all()
