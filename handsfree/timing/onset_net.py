"""Small neural nets that detect the beginning of a mark; trained by
handsfree.training.onset_training.

Seven convolution layers over time cover half a second on both sides of each frame. The weights are
in onset_net.npz next to this module; numpy alone evaluates them.
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
"""Frames of context to each side."""

_BIAS = 6.0  # initial bias: no frame is an onset
_SCALE = 4.0  # scales logarithms of power to the input range of a net

Weights = NDArray[np.float32]


def features_of(
    powers: Floats, noise: Floats, usual: Floats, voice_power: float | None
) -> NDArray[np.float32]:
    """Builds the input of the net (channels, frames).

    The channels are each band over its noise, in log; the fluctuation of the noise itself; the
    level over the voice's mean square if known; and whether it is known.
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
    """One net: weights (5, out, in) with biases, and a last layer with one output."""

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
    """Several nets of one shape, trained separately: their mean is more accurate than each."""

    members: tuple[_Member, ...]

    @classmethod
    @cache
    def load(cls) -> OnsetNet:
        """Loads the nets that ship with the package."""
        return cls.read(Path(__file__).with_name("onset_net.npz"))

    @classmethod
    def read(cls, file: Path) -> OnsetNet:
        """Reads nets from weights written by handsfree.training.onset_training."""
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
        """Log odds for each frame that a mark begins in it."""
        every: Floats = np.mean([each.evidence(features) for each in self.members], axis=0)
        return every


def _by_tap(weight: Weights) -> Weights:
    """Moves the taps of weights (out, in, 5) first, contiguous: numpy multiplies them faster."""
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
