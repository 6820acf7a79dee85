"""Trains the nets that find the beginning of a mark, on examples generated during the training.

    python -m handsfree.training.onset_training MARKS.npz ONE.npz --seed 21
    python -m handsfree.training.onset_training MARKS.npz BOTH.npz --seed 22 --beside ONE.npz

MARKS.npz comes from handsfree.training.marks. BOTH.npz has two separately trained nets, which
handsfree.timing.onset_net averages. Each takes about six minutes on a GPU.
"""

from __future__ import annotations

import argparse
import copy
import math
import time
from collections.abc import Mapping
from pathlib import Path

import numpy as np
import torch
from torch import Tensor, nn
from torch.nn import functional

from handsfree.training.onset_examples import EDGES, FRAMES, HOP, RATE, Bank, examples

WIDTH, DILATIONS = 80, (1, 2, 4, 8, 16, 32)


class OnsetNet(nn.Module):
    """A net for the log evidence in each frame that a mark begins there."""

    def __init__(self, channels: int) -> None:
        super().__init__()
        self.first = nn.Conv1d(channels, WIDTH, 5, padding=2)
        self.blocks = nn.ModuleList(
            nn.Conv1d(WIDTH, WIDTH, 5, padding=2 * dilation, dilation=dilation)
            for dilation in DILATIONS
        )
        self.last = nn.Conv1d(WIDTH, 1, 1)

    def forward(self, features: Tensor) -> Tensor:
        """(batch, channels, frames) to (batch, frames)."""
        inner = torch.relu(self.first(features))
        for block in self.blocks:
            inner = inner + functional.dropout1d(torch.relu(block(inner)), 0.05, self.training)
        out: Tensor = self.last(inner)[:, 0]
        return out - 6.0


def main() -> None:
    """Trains a net, prints its progress, and writes the weights."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n\n")[0])
    parser.add_argument("marks", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--steps", type=int, default=14000)
    parser.add_argument("--batch", type=int, default=256)
    parser.add_argument("--seed", type=int, default=7)
    parser.add_argument("--beside", type=Path, help="join the nets of this file to the new one")
    parser.add_argument("--all", action="store_true", help="train on what is kept apart too")
    parser.add_argument("--seconds", type=float, default=math.inf, help="end after this time")
    options = parser.parse_args()
    device = "cuda" if torch.cuda.is_available() else "cpu"
    torch.set_float32_matmul_precision("high")
    torch.manual_seed(options.seed)
    packed = np.load(options.marks)
    banks = {name: Bank(packed, name, device) for name in ("words", "noises", "chatter")}
    if options.all:
        for bank in banks.values():
            bank.train = torch.cat((bank.train, bank.apart))
    net = OnsetNet(len(EDGES) * 2).to(device)
    optimizer = torch.optim.AdamW(net.parameters(), lr=2e-3, weight_decay=1e-2)
    smooth = copy.deepcopy(net).eval()
    began = time.monotonic()
    losses: list[float] = []
    for step in range(options.steps):
        share = max(step / options.steps, (time.monotonic() - began) / options.seconds)
        if share >= 1:
            break
        for group in optimizer.param_groups:
            group["lr"] = 2e-3 * min(1, (step + 1) / 200) * (0.5 + 0.5 * math.cos(math.pi * share))
        features, label = examples(banks, options.batch, device, apart=False)
        loss = loss_of(net(features), label)
        optimizer.zero_grad()
        loss.backward()
        nn.utils.clip_grad_norm_(net.parameters(), 1.0)
        optimizer.step()
        with torch.no_grad():
            for kept, now in zip(smooth.parameters(), net.parameters(), strict=True):
                kept.lerp_(now, min(0.5, 10 / (step + 1)) if step < 5000 else 0.002)
        losses.append(float(loss.detach()))
        if step % 500 == 499:
            print(
                step + 1,
                f"{np.mean(losses[-500:]):.4f}",
                tried(smooth, banks, device, options.batch),
                flush=True,
            )
            print(f"  {time.monotonic() - began:.0f} s", flush=True)
            _write(smooth, options.out, options.beside)
    _write(smooth, options.out, options.beside)
    print("end", tried(smooth, banks, device, options.batch, rounds=min(20, options.steps)))


def loss_of(logits: Tensor, label: Tensor) -> Tensor:
    """Cross entropy over all frames and 'no mark' (the label FRAMES)."""
    none = torch.zeros_like(logits[:, :1])
    return functional.cross_entropy(torch.cat((logits, none), 1), label)


@torch.no_grad()  # type: ignore[untyped-decorator,unused-ignore]
def tried(
    net: OnsetNet, banks: Mapping[str, Bank], device: str, batch: int, rounds: int = 4
) -> str:
    """Tests the net on held-out speakers and noises, with ``rounds`` batches."""
    wrong, found, marks, false, nones, losses = [], 0, 0, 0, 0, []
    for _ in range(rounds):
        features, label = examples(banks, batch, device, apart=True)
        logits = net(features)
        losses.append(float(loss_of(logits, label)))
        mass = logits.exp().sum(1)
        given = mass > 1
        best = logits.argmax(1)
        real = label < FRAMES
        off = ((best - label).float() * HOP / RATE * 1000)[real & given]
        wrong.append(off)
        found += int((real & given).sum())
        marks += int(real.sum())
        false += int((~real & given).sum())
        nones += int((~real).sum())
    off = torch.cat(wrong).abs()
    spread = [f"{float(torch.quantile(off, q)):.0f}" for q in (0.5, 0.9, 0.95, 0.99) if len(off)]
    return (
        f"loss {np.mean(losses):.4f} found {found / max(1, marks):.4f}"
        f" false {false / max(1, nones):.4f}"
        f" ms off at 50 90 95 99 %: {' '.join(spread)}"
    )


def _write(net: OnsetNet, out: Path, beside: Path | None = None) -> None:
    joined = dict(np.load(beside)) if beside is not None else {}
    nth = len({name.partition(".")[0] for name in joined})
    for name, value in net.state_dict().items():
        joined[f"{nth}.{name}"] = value.cpu().numpy().astype(np.float16)
    np.savez(out, **joined)


if __name__ == "__main__":
    main()
