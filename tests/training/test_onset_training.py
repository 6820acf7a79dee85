"""The trained onset net equals the one run by numpy."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import torch

from handsfree.timing import onset_net
from handsfree.timing.noise_floor import EDGES
from handsfree.training import onset_training

from .test_onset_examples import packed


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
