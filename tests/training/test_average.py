"""The mean of two trainings."""

import sys

import torch

from handsfree.training import average
from handsfree.training.export import write_model
from handsfree.training.features import DIM
from handsfree.training.network import LEFT, OUTPUTS, RIGHT, Network
from handsfree.training.written_model import read_network


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


def features() -> list[torch.Tensor]:
    generator = torch.Generator().manual_seed(8)
    return [torch.randn(3, LEFT + 30 + RIGHT, DIM, generator=generator) * 12 + 20 for _ in range(4)]


def test_the_mean_of_a_network_with_itself_as_it_was_written_is_that_network(tmp_path):
    kept(tmp_path / "1.pt", 3)
    one = read_network(tmp_path / "1.pt")
    with torch.no_grad():
        for _ in range(30):
            for batch in features():
                one(batch)
        one.eval()
        write_model(one, tmp_path / "final.mdl")
        before = one(features()[0]).log_softmax(-1)
        both = [one, read_network(tmp_path / "final.mdl")]
        found, prior = average.settled_mean(both, [1, 1], features())
        assert (found(features()[0]).log_softmax(-1) - before).abs().max() < 0.02
    assert abs(prior.sum().item() - 1) < 1e-5


def test_the_mean_of_written_models_lies_between_them(tmp_path):
    heard, paths = [], [tmp_path / "1.mdl", tmp_path / "2.mdl"]
    for seed, path in enumerate(paths, 1):
        torch.manual_seed(3)
        network = Network(32).eval()
        with torch.no_grad():
            network.out.bias += seed
            network.out.bias[0] += 2.0 * seed
            write_model(network, path)
            heard.append(network(features()[0]))
    average.write_mean_of_written(paths, [1, 3], tmp_path / "out")
    with torch.no_grad():
        found = read_network(tmp_path / "out" / "final.mdl")(features()[0])
    assert torch.allclose(found, (heard[0] + 3 * heard[1]) / 4, atol=0.02)
    assert not (tmp_path / "out" / "network.pt").exists()
