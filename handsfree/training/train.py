"""Trains the acoustic network with CTC and writes it as am/final.mdl.

    python -m handsfree.training.train DATA OUT --minutes 8

On several GPUs, which share every step:

    python -m torch.distributed.run --nproc-per-node 2 -m handsfree.training.train DATA OUT

DATA is the output of ``prepare`` with the sound made by ``natural`` and ``robots``. OUT gets
network.pt (also after every quarter of the training) and final.mdl.
"""

from __future__ import annotations

import argparse
import copy
import json
import math
import os
import random
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import torch
from torch import Tensor, distributed
from torch.nn import functional
from torch.optim.swa_utils import get_ema_multi_avg_fn

from handsfree.training.augment import Batches
from handsfree.training.ctc import loss_with_prior
from handsfree.training.export import write_model
from handsfree.training.network import OUTPUTS, Network
from handsfree.training.sound_bank import (
    NATURAL,
    SYNTHETIC,
    Bank,
    add_recordings,
    add_synthetic,
)
from handsfree.training.written_model import read_model, settled

RATE = 1.5e-3
PRIOR_POWER = 0.35
_PRIOR_FROM = 0.12  # of the training: at first the network mostly learns the blank
_WARM_UP_STEPS = 200
_TOLD_STEPS = 10  # steps between two looks at the clock
_AVERAGED = 0.999
_DRAWING = 6  # processes that draw batches
_SETTLED_ON = 6  # number of batches


def main() -> None:
    """Runs one training."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n\n")[0])
    parser.add_argument("data", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--minutes", type=float, default=8.0)
    parser.add_argument("--batch", type=int, default=192)
    parser.add_argument("--width", type=int, default=448)
    parser.add_argument("--start", type=Path, help="network.pt or final.mdl to continue from")
    parser.add_argument("--rate", type=float, default=RATE, help="of learning, at most")
    parser.add_argument("--seed", type=int, default=5)
    parser.add_argument("--hours", type=float, default=160.0, help="of sound that fit in memory")
    parser.add_argument("--processes", type=int, default=max(1, (os.cpu_count() or 2) - 1))
    parser.add_argument(
        "--without", nargs="*", default=[], help="words whose recordings are left out"
    )
    options = parser.parse_args()
    options.out.mkdir(parents=True, exist_ok=True)
    team = Team.joined()
    torch.set_float32_matmul_precision("high")
    began = time.monotonic()
    device = torch.device("cuda", team.rank) if torch.cuda.is_available() else torch.device("cpu")
    processes = max(1, options.processes // team.size)
    words = json.loads((options.data / "words.json").read_text(encoding="utf-8"))
    bank = Bank.empty(options.hours, device)
    for group, folder in ((NATURAL, "natural"), (SYNTHETIC, "robots")):
        add_synthetic(bank, group, options.data / folder, words)
    add_recordings(bank, options.data, words, options.without, processes)
    for name in bank.groups:
        print(f"{name}: {len(bank.groups[name])} utterances, {bank.hours(name):.2f} h", flush=True)
    print(f"{time.monotonic() - began:.0f} s: begins on {device}", flush=True)

    def keep(network: Network, prior: Tensor) -> None:
        if team.rank == 0:
            torch.save(
                {"network": network.state_dict(), "prior": prior}, options.out / "network.pt"
            )

    torch.manual_seed(options.seed)
    network = Network(options.width).to(device)
    random.seed(options.seed)
    batches = Batches(bank, options.batch, min(processes, _DRAWING))
    prior = torch.full((OUTPUTS,), 1 / OUTPUTS, device=device)
    if options.start and options.start.suffix == ".mdl":
        network = read_model(options.start).to(device)
        prior = settled(network, (batches.draw().features for _ in range(_SETTLED_ON)))
    elif options.start:
        kept = torch.load(options.start, map_location=device)
        network.load_state_dict(kept["network"])
        prior = kept["prior"].to(device)
    random.seed(options.seed + team.rank)
    torch.manual_seed(options.seed + team.rank)
    schedule = Schedule(60 * options.minutes, options.rate, 0.0 if options.start else _PRIOR_FROM)
    trained = train(batches, network.train(), prior, schedule, keep, team)
    if team.rank == 0:
        write_model(trained.cpu(), options.out / "final.mdl")
    print(f"{time.monotonic() - began:.0f} s: done", flush=True)


@dataclass(frozen=True)
class Team:
    """The processes that train one network, each on its own GPU and batches."""

    rank: int = 0
    size: int = 1

    @classmethod
    def joined(cls) -> Team:
        """The team started by torch.distributed.run; otherwise a team of one."""
        size = int(os.environ.get("WORLD_SIZE", "1"))
        if size > 1:
            on_gpus = torch.cuda.is_available()
            distributed.init_process_group("cpu:gloo,cuda:nccl" if on_gpus else "gloo")
            if on_gpus:
                torch.cuda.set_device(distributed.get_rank())
        return cls(distributed.get_rank() if size > 1 else 0, size)

    def share(self, gradients: list[Tensor]) -> None:
        """Makes each gradient the mean over all processes."""
        if self.size > 1:
            flat = torch.cat([gradient.flatten() for gradient in gradients])
            distributed.all_reduce(flat)
            means = (flat / self.size).split([gradient.numel() for gradient in gradients])
            for gradient, mean in zip(gradients, means, strict=True):
                gradient.copy_(mean.view_as(gradient))

    def agreed(self, number: float) -> float:
        """Gives all processes the first one's number; waits for the processes, not for the
        devices.
        """
        if self.size == 1:
            return number
        told = torch.tensor([number], dtype=torch.float64)
        distributed.broadcast(told, 0)
        return float(told)


ALONE = Team()


@dataclass(frozen=True)
class Schedule:
    """Duration (s), highest learning rate, and share of the time from which the prior counts."""

    seconds: float
    rate: float
    prior_from: float


def train(
    batches: Batches,
    network: Network,
    prior: Tensor,
    schedule: Schedule,
    keep: Callable[[Network, Tensor], None],
    team: Team = ALONE,
) -> Network:
    """Trains a network and returns its average; ``keep`` gets it from time to time.

    No step waits for the device, which would be idle in the meantime.
    """
    weights = list(network.parameters())
    optimizer = torch.optim.AdamW(weights, lr=schedule.rate, weight_decay=1e-2, fused=True)
    averaged = copy.deepcopy(network)
    means, now = _real_numbers(averaged), _real_numbers(network)
    began, step, kept, done = time.monotonic(), 0, 0, 0.0
    while True:
        if step % _TOLD_STEPS == 0:
            done = team.agreed((time.monotonic() - began) / schedule.seconds)
        if done >= 1:
            break
        warm = min(1.0, (step + 1) / _WARM_UP_STEPS)
        for group in optimizer.param_groups:
            group["lr"] = schedule.rate * warm * 0.5 * (1 + math.cos(math.pi * done)) + 1e-5
        batch = batches.draw()
        with torch.autocast(prior.device.type, torch.bfloat16, enabled=prior.is_cuda):
            scores = network(batch.features)
        log_probs = functional.log_softmax(scores.float(), -1)
        outputs = ((batch.frames + 2) // 3).clamp_max(log_probs.shape[1])
        power = 0.0 if done < schedule.prior_from else PRIOR_POWER
        loss, mean = loss_with_prior(log_probs, outputs, batch.ways, prior, power)
        optimizer.zero_grad()
        loss.backward()
        torch.nn.utils.clip_grad_norm_(weights, 5.0)
        gradients = [weight.grad for weight in weights if weight.grad is not None]
        for gradient in gradients:  # so that one overflow does not spoil the training
            gradient.nan_to_num_(0.0, 0.0, 0.0)
        team.share(gradients)
        optimizer.step()
        prior = 0.98 * prior + 0.02 * mean
        get_ema_multi_avg_fn(min(_AVERAGED, step / (step + 10)))(means, now, step)
        if step % 250 == 0 and team.rank == 0:
            print(
                f"{100 * done:3.0f} %, step {step}: loss {loss.item():.3f}, blank {prior[0]:.2f}",
                flush=True,
            )
        if int(4 * done) > kept:
            kept = int(4 * done)
            keep(averaged, prior)
        step += 1
    print(f"{step} steps", flush=True)
    keep(averaged, prior)
    return averaged


def _real_numbers(network: Network) -> list[Tensor]:
    """Weights and statistics, which the training changes in place."""
    return [value for value in network.state_dict().values() if value.is_floating_point()]


if __name__ == "__main__":
    main()
