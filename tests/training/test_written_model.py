"""A written model read back has the same function, even after its norms are settled."""

from pathlib import Path

import pytest
import torch

from handsfree.training import written_model
from handsfree.training.export import write_model
from handsfree.training.features import DIM
from handsfree.training.network import LAYERS, LEFT, RIGHT, Network
from handsfree.training.written_model import read_model, read_network, settled

WIDTH = 16
# Weights are kept in 65536 steps of their range.
CLOSE = 0.005


def some(seed: int) -> torch.Tensor:
    """Features with the means and spreads of cepstra."""
    generator = torch.Generator().manual_seed(seed)
    noise = torch.randn(3, LEFT + 30 + RIGHT, DIM, generator=generator)
    return noise * 12 + torch.linspace(60, -20, DIM)


@pytest.fixture
def trained() -> Network:
    torch.manual_seed(5)
    network = Network(WIDTH)
    for norm in network.norm:
        torch.nn.init.uniform_(norm.weight, 0.5, 2.0)
        torch.nn.init.normal_(norm.bias)
    with torch.no_grad():
        for seed in range(20):
            network(some(seed))
    return network.eval()


@torch.no_grad()
def heard(network: Network) -> torch.Tensor:
    return network(some(99)).log_softmax(-1)


def test_what_was_written_is_read_back(trained, tmp_path):
    write_model(trained, tmp_path / "final.mdl")
    assert torch.allclose(heard(read_model(tmp_path / "final.mdl")), heard(trained), atol=CLOSE)


def test_settled_norms_change_nothing_but_the_size_of_the_weights(trained, tmp_path):
    write_model(trained, tmp_path / "final.mdl")
    network = read_model(tmp_path / "final.mdl")
    prior = settled(network, [some(seed) for seed in range(8)])
    assert torch.allclose(heard(network), heard(trained), atol=CLOSE)
    assert prior.sum() == pytest.approx(1, abs=1e-5)
    for affine in network.affine:
        assert affine.weight.detach().pow(2).mean().sqrt().item() == pytest.approx(0.07, rel=1e-3)
    # In training a norm takes the statistics of its batch: nearly those that it was given.
    in_training = network.train()
    in_training.dropout.p = 0.0
    assert (heard(in_training) - heard(trained)).abs().mean() < 0.2


def test_layers_that_the_file_lacks_are_added_and_say_nothing_yet(trained, tmp_path, monkeypatch):
    shorter, dropped = LAYERS[:-1], LAYERS[-1]
    first, last = -min(dropped.offsets), max(dropped.offsets)
    for name in ("network", "export"):
        monkeypatch.setattr(f"handsfree.training.{name}.LAYERS", shorter)
    with torch.no_grad():
        fewer = Network(WIDTH)
        fewer.load_state_dict(
            {
                n: v
                for n, v in trained.state_dict().items()
                if n.split(".")[1:2] != [f"{len(shorter)}"]
            }
        )
        write_model(fewer.eval(), tmp_path / "final.mdl")
        short = fewer(some(99)[:, first:-last]).log_softmax(-1)
    monkeypatch.undo()
    assert written_model.LAYERS == LAYERS
    longer = heard(read_model(tmp_path / "final.mdl"))
    assert longer.shape == short.shape
    assert (longer - short).abs().mean() < 0.05


def test_a_training_and_what_it_wrote_are_both_networks(trained, tmp_path):
    torch.save({"network": trained.state_dict()}, tmp_path / "network.pt")
    write_model(trained, tmp_path / "final.mdl")
    for name in ("network.pt", "final.mdl"):
        assert torch.allclose(
            heard(read_network(tmp_path / name).eval()), heard(trained), atol=CLOSE
        )


def test_another_file_is_refused(tmp_path):
    other = Path(tmp_path / "final.mdl")
    other.write_bytes(b"\0B <TransitionModel> ")
    with pytest.raises(ValueError, match="has no output layer"):
        read_model(other)
