"""The mean of several trainings of one lineage, which hears better than each of them.

    python -m handsfree.training.average run-1/network.pt run-2/network.pt OUT --weights 0.3 0.7

Works where each went on from the one before (``train --start``): their weights lie close
together. OUT gets network.pt and final.mdl.
"""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import torch
from torch import Tensor

from handsfree.training.export import write_model
from handsfree.training.network import Network

State = dict[str, Tensor]


def main() -> None:
    """Writes the mean network."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n\n")[0])
    parser.add_argument("networks", type=Path, nargs="+")
    parser.add_argument("out", type=Path)
    parser.add_argument("--weights", type=float, nargs="+", help="of each; alike without it")
    options = parser.parse_args()
    shares = options.weights or [1.0] * len(options.networks)
    if len(shares) != len(options.networks):
        parser.error(f"{len(options.networks)} networks and {len(shares)} weights")
    kept: list[dict[str, Any]] = [torch.load(p, map_location="cpu") for p in options.networks]
    found = mean([{**one["network"], "prior": one["prior"]} for one in kept], shares)
    prior = found.pop("prior")
    network = Network(found["out.weight"].shape[1])
    network.load_state_dict(found)
    options.out.mkdir(parents=True, exist_ok=True)
    torch.save({"network": found, "prior": prior}, options.out / "network.pt")
    write_model(network, options.out / "final.mdl")


def mean(states: Sequence[State], shares: Sequence[float]) -> State:
    """The weighted mean of each weight and statistic; counters are taken from the last."""
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
