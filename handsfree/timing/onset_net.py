"""Small nets that hear where a mark begins; trained by handsfree.training.onset_training.

Seven layers of convolutions over time look half a second to both sides of each frame. Their
weights lie beside this module (onset_net.npz); nothing but numpy runs them.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from handsfree.timing.noise_floor import Floats

DILATIONS = (1, 2, 4, 8, 16, 32)
REACH = 2 * (1 + sum(DILATIONS))
"""Frames that it looks to both sides."""

_BIAS = 6.0  # a frame is no onset, to begin with
_SCALE = 4.0  # of logarithms of power, to what a net is at ease with

Weights = NDArray[np.float32]


def features_of(
    powers: Floats, noise: Floats, usual: Floats, voice_power: float | None
) -> NDArray[np.float32]:
    """What the net is given (channels, frames).

    Each band over its noise, in log; how far the noise itself fluctuates; the level over the
    voice's mean square, where that is known, and whether it is.
    """
    ratios = np.clip(np.log(powers / noise), -4, 12)
    spread = np.broadcast_to(np.clip(np.log(usual / noise), 0, 8), ratios.shape)
    over = np.zeros((len(powers), 1))
    if voice_power:
        over = np.log(powers.mean(axis=1, keepdims=True) / voice_power + 1e-5)
    known = np.full((len(powers), 1), _SCALE if voice_power else 0.0)
    return (np.concatenate((ratios, spread, over, known), axis=1).T / _SCALE).astype(np.float32)


@dataclass(frozen=True)
class _Member:
    """The layers: weights (5, out, in) with biases, and the last one of one output."""

    layers: tuple[tuple[Weights, Weights], ...]
    last: tuple[Weights, Weights]

    def evidence(self, features: NDArray[np.float32]) -> Floats:
        (weight, bias), *blocks = self.layers
        inner = np.maximum(_convolved(features, weight, bias, 1), 0)
        for (weight, bias), dilation in zip(blocks, DILATIONS, strict=True):
            inner = inner + np.maximum(_convolved(inner, weight, bias, dilation), 0)
        weight, bias = self.last
        odds: Floats = (weight @ inner + bias[:, None]).astype(np.float64)[0] - _BIAS
        return odds


@dataclass(frozen=True)
class OnsetNet:
    """Nets of one shape that were trained apart: their mean errs less than either."""

    members: tuple[_Member, ...]

    @classmethod
    @cache
    def load(cls) -> OnsetNet:
        """The nets that ship with the package."""
        return cls.read(Path(__file__).with_name("onset_net.npz"))

    @classmethod
    def read(cls, file: Path) -> OnsetNet:
        """Nets from the weights that handsfree.training.onset_training wrote and joined."""
        with np.load(file) as packed:
            arrays = {name: packed[name].astype(np.float32) for name in packed.files}
        names = ["first", *(f"blocks.{nth}" for nth in range(len(DILATIONS)))]
        members = []
        for nth in sorted({name.partition(".")[0] for name in arrays}):
            layers = tuple(
                (_by_tap(arrays[f"{nth}.{name}.weight"]), arrays[f"{nth}.{name}.bias"])
                for name in names
            )
            last = arrays[f"{nth}.last.weight"][:, :, 0], arrays[f"{nth}.last.bias"]
            members.append(_Member(layers, last))
        return cls(tuple(members))

    def evidence(self, features: NDArray[np.float32]) -> Floats:
        """Log odds, for each frame, that a mark begins in it, over that none does here."""
        every: Floats = np.mean([each.evidence(features) for each in self.members], axis=0)
        return every


def _by_tap(weight: Weights) -> Weights:
    """Weights (out, in, 5) with the taps first, each in one piece: numpy multiplies them faster."""
    return np.ascontiguousarray(np.moveaxis(weight, 2, 0))


def _convolved(
    inner: NDArray[np.float32], weight: Weights, bias: Weights, dilation: int
) -> NDArray[np.float32]:
    frames, half = inner.shape[1], len(weight) // 2
    padded = np.pad(inner, ((0, 0), (half * dilation, half * dilation)))
    out = np.broadcast_to(bias[:, None], (len(bias), frames)).copy()
    for tap in range(len(weight)):
        out += weight[tap] @ padded[:, tap * dilation : tap * dilation + frames]
    return out
