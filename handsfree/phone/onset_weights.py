"""The weights of the nets that find marks, for the page: one array of 16-bit floats."""

from __future__ import annotations

from pathlib import Path

import numpy as np

import handsfree.timing
from handsfree.timing.onset_net import DILATIONS

_LAYERS = ("first", *(f"blocks.{nth}" for nth in range(len(DILATIONS))), "last")


def weights() -> bytes:
    """The weights of the shipped nets, little-endian, in the order expected by
    static/onset-net.js.
    """
    file = Path(handsfree.timing.__file__).with_name("onset_net.npz")
    with np.load(file) as packed:
        members = sorted({name.partition(".")[0] for name in packed.files})
        return b"".join(
            packed[f"{member}.{layer}.{kind}"].astype("<f2").tobytes()
            for member in members
            for layer in _LAYERS
            for kind in ("weight", "bias")
        )
