"""The mean of several trainings of one lineage, which hears better than each of them.

    python -m handsfree.training.average run-1/network.pt run-2/network.pt OUT

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
    options = parser.parse_args()
    kept: list[dict[str, Any]] = [torch.load(p, map_location="cpu") for p in options.networks]
    weights = mean([one["network"] for one in kept])
    prior = torch.stack([one["prior"] for one in kept]).mean(0)
    network = Network(weights["out.weight"].shape[1])
    network.load_state_dict(weights)
    options.out.mkdir(parents=True, exist_ok=True)
    torch.save({"network": weights, "prior": prior}, options.out / "network.pt")
    write_model(network, options.out / "final.mdl")


def mean(states: Sequence[State]) -> State:
    """The mean of each weight and statistic; counters are taken from the last."""
    return {
        name: torch.stack([state[name] for state in states]).mean(0)
        if last.is_floating_point()
        else last
        for name, last in states[-1].items()
    }


if __name__ == "__main__":
    main()
