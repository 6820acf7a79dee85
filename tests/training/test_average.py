"""The mean of two trainings."""

import sys

import torch

from handsfree.training import average
from handsfree.training.network import OUTPUTS, Network


def kept(path, seed: int) -> Network:
    torch.manual_seed(seed)
    network = Network(32)
    prior = torch.full((OUTPUTS,), float(seed))
    torch.save({"network": network.state_dict(), "prior": prior}, path)
    return network


def test_the_weighted_mean_of_two_networks_is_written(tmp_path, monkeypatch):
    one, two = kept(tmp_path / "1.pt", 1), kept(tmp_path / "2.pt", 2)
    given = ["average", str(tmp_path / "1.pt"), str(tmp_path / "2.pt"), str(tmp_path / "out")]
    given += ["--weights", "1", "3"]
    monkeypatch.setattr(sys, "argv", given)
    average.main()
    found = torch.load(tmp_path / "out" / "network.pt")
    assert torch.allclose(found["network"]["out.weight"], (one.out.weight + 3 * two.out.weight) / 4)
    assert found["prior"][0] == 1.75
    assert (tmp_path / "out" / "final.mdl").stat().st_size > 10_000
