"""Averages several trainings of one lineage, which recognizes better than each of them.

    python -m handsfree.training.average run-1/network.pt run-2/network.pt OUT --weights 0.3 0.7
    python -m handsfree.training.average FOLDER/am/final.mdl run/final.mdl OUT --weights 0.4 0.6
    python -m handsfree.training.average FOLDER/am/final.mdl run/network.pt OUT --data DATA

This works if each training continued the previous one (``train --start``), because their weights
are close together. OUT gets final.mdl, and network.pt unless all are written models. In a written
model the norms are folded into the weights. Written models alone are averaged as they are. If one
of several kinds is included, the norms of all networks are first estimated on batches of DATA, and
those of the mean afterwards.
"""

from __future__ import annotations

import argparse
import json
import random
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import torch
from torch import Tensor

from handsfree.training.augment import Batches
from handsfree.training.export import write_model
from handsfree.training.network import LAYERS, Network
from handsfree.training.sound_bank import (
    NATURAL,
    SYNTHETIC,
    Bank,
    add_recordings,
    add_synthetic,
)
from handsfree.training.written_model import (
    NEW_GAIN,
    read_model,
    read_network,
    restated,
    settled,
)

_BATCH, _BATCHES = 12, 10

State = dict[str, Tensor]


def main() -> None:
    """Writes the mean network."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n\n")[0])
    parser.add_argument("networks", type=Path, nargs="+")
    parser.add_argument("out", type=Path)
    parser.add_argument("--data", type=Path, help="what prepare wrote, to settle the norms on")
    parser.add_argument("--hours", type=float, default=12.0, help="of its sound that fit in memory")
    parser.add_argument("--weights", type=float, nargs="+", help="of each; alike without it")
    options = parser.parse_args()
    shares = options.weights or [1.0] * len(options.networks)
    if len(shares) != len(options.networks):
        parser.error(f"{len(options.networks)} networks and {len(shares)} weights")
    if options.data:
        network, prior = settled_mean(
            [read_network(path) for path in options.networks],
            shares,
            _some_batches(options.data, options.hours),
        )
    elif all(path.suffix == ".mdl" for path in options.networks):
        write_mean_of_written(options.networks, shares, options.out)
        return
    else:
        kept: list[dict[str, Any]] = [torch.load(p, map_location="cpu") for p in options.networks]
        found = mean([{**one["network"], "prior": one["prior"]} for one in kept], shares)
        prior = found.pop("prior")
        network = Network(found["out.weight"].shape[1])
        network.load_state_dict(found)
    options.out.mkdir(parents=True, exist_ok=True)
    torch.save({"network": network.state_dict(), "prior": prior}, options.out / "network.pt")
    write_model(network, options.out / "final.mdl")


def write_mean_of_written(paths: Sequence[Path], shares: Sequence[float], out: Path) -> None:
    """Writes OUT/final.mdl, the weighted mean of written models, whose norms are folded in."""
    networks = [read_model(path) for path in paths]
    found = Network(networks[0].width)
    found.load_state_dict(mean([network.state_dict() for network in networks], shares))
    out.mkdir(parents=True, exist_ok=True)
    write_model(found.eval(), out / "final.mdl")


def settled_mean(
    networks: Sequence[Network], shares: Sequence[float], batches: Sequence[Tensor]
) -> tuple[Network, Tensor]:
    """The weighted mean of networks whose norms are estimated on the same batches, and its prior.

    A layer missing in one of them takes the weights of the others, and their residual in
    proportion.
    """
    for network in networks:
        settled(network.eval(), batches)
    states = [network.state_dict() for network in networks]
    for index in range(len(LAYERS)):
        gains = [state[f"norm.{index}.weight"].abs().max() for state in states]
        full = states[gains.index(max(gains))]
        for state, gain in zip(states, gains, strict=True):
            if gain <= NEW_GAIN:
                state[f"affine.{index}.weight"] = full[f"affine.{index}.weight"]
    found = Network(networks[0].width)
    found.load_state_dict(mean(states, shares))
    return found, restated(found.eval(), batches)


def _some_batches(data: Path, hours: float) -> list[Tensor]:
    random.seed(3)
    torch.manual_seed(3)
    words = json.loads((data / "words.json").read_text(encoding="utf-8"))
    bank = Bank.empty(hours, torch.device("cpu"))
    add_recordings(bank, data, words, (), 1)
    for group, folder in ((NATURAL, "natural"), (SYNTHETIC, "robots")):
        add_synthetic(bank, group, data / folder, words)
    batches = Batches(bank, _BATCH)
    return [batches.draw().features for _ in range(_BATCHES)]


def mean(states: Sequence[State], shares: Sequence[float]) -> State:
    """The weighted mean of each weight and statistic; counters come from the last network."""
    total = sum(shares)
    return {
        name: sum(
            (state[name] * (share / total) for state, share in zip(states, shares, strict=True)),
            start=torch.zeros_like(last),
        )
        if last.is_floating_point()
        else last
        for name, last in states[-1].items()
    }


if __name__ == "__main__":
    main()
