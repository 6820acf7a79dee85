"""The acoustic network: time-delay layers, one output frame for three input frames."""

from __future__ import annotations

from typing import NamedTuple

import torch
from torch import Tensor, nn

from handsfree.training.features import DIM

OUTPUTS = 40
"""Number of outputs: 39 phones and the blank, which is output 0."""


class Layer(NamedTuple):
    """A layer: the relative frames (10 ms) that it splices, and whether it adds its input."""

    name: str
    offsets: tuple[int, ...]
    residual: bool


LAYERS = (
    Layer("l1", (-2, -1, 0, 1, 2), False),
    Layer("l2", (-1, 0, 1), False),
    Layer("l3", (-3, 0, 3), True),
    Layer("l4", (-3, 0, 3), True),
    Layer("l5", (-6, 0, 3), True),
    Layer("l6", (-6, 0, 3), True),
    Layer("l7", (-9, 0, 3), True),
)
LEFT = -sum(min(layer.offsets) for layer in LAYERS)
RIGHT = sum(max(layer.offsets) for layer in LAYERS)
"""Frames of context before and after: 300 and 180 ms. They cause no delay, because whole
utterances are recognized.
"""


class Network(nn.Module):
    """Maps features (batch, LEFT + time + RIGHT, 40) to scores (batch, time / 3 rounded up, 40)."""

    def __init__(self, width: int = 400, dropout: float = 0.1) -> None:
        super().__init__()
        self.width = width
        self.input_norm = nn.BatchNorm1d(DIM, affine=False)
        sizes = [DIM, *[width] * (len(LAYERS) - 1)]
        self.affine = nn.ModuleList(
            nn.Linear(size * len(layer.offsets), width, bias=False)
            for size, layer in zip(sizes, LAYERS, strict=True)
        )
        self.norm = nn.ModuleList(nn.BatchNorm1d(width) for _ in LAYERS)
        self.out = nn.Linear(width, OUTPUTS)
        self.dropout = nn.Dropout(dropout)

    def forward(self, features: Tensor) -> Tensor:
        """Scores before the softmax."""
        x = self.input_norm(features.flatten(0, 1)).view_as(features)
        for index, layer in enumerate(LAYERS):
            # From the output of the second layer on, a step is three frames.
            unit = 1 if index < 2 else 3
            stride = 3 if index == 1 else 1
            low, high = min(layer.offsets), max(layer.offsets)
            frames = x.shape[1] - (high - low) // unit
            starts = [(offset - low) // unit for offset in layer.offsets]
            spliced = torch.cat([x[:, s : s + frames][:, ::stride] for s in starts], -1)
            y = self.affine[index](spliced)
            y = self.norm[index](y.flatten(0, 1)).view_as(y)
            y = self.dropout(torch.relu(y))
            if layer.residual:
                at = -low // unit
                y = y + x[:, at : at + frames]
            x = y
        scores: Tensor = self.out(x)
        return scores


def padded(features: Tensor) -> Tensor:
    """One utterance's features (time, 40) with the edges repeated for the context."""
    return torch.cat([features[:1].expand(LEFT, -1), features, features[-1:].expand(RIGHT, -1)])
