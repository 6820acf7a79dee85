"""Writes a trained network as a Kaldi nnet3 model, which Vosk loads.

The file is binary. A token is its text and a space; an integer or float is the byte 4 and four
bytes. Batch norms are folded into the affine layers. Matrices are stored in 16 bits, linear between
their smallest and largest value (Kaldi's 'CM2').
"""

from __future__ import annotations

import struct
from pathlib import Path
from typing import BinaryIO

import numpy as np
from numpy.typing import NDArray

from handsfree.recognition.phones import PHONES
from handsfree.training.features import DIM
from handsfree.training.network import LAYERS, LEFT, OUTPUTS, RIGHT, Network

Array = NDArray[np.float64]


def write_model(network: Network, path: Path) -> None:
    """Writes am/final.mdl: transition model and network, without priors."""
    layers, last = folded(network)
    with path.open("wb") as file:
        out = _Writer(file)
        file.write(b"\0B")
        _write_transitions(out)
        _write_network(out, layers, last)


def folded(network: Network) -> tuple[list[tuple[Array, Array]], tuple[Array, Array]]:
    """Each hidden layer as one matrix and one bias, and the output layer."""
    kept = {name: value.double().cpu().numpy() for name, value in network.state_dict().items()}
    epsilon = network.input_norm.eps
    mean = kept["input_norm.running_mean"]
    scale = 1 / np.sqrt(kept["input_norm.running_var"] + epsilon)
    layers = []
    for index, layer in enumerate(LAYERS):
        norm = f"norm.{index}."
        gain = kept[norm + "weight"] / np.sqrt(kept[norm + "running_var"] + epsilon)
        matrix = kept[f"affine.{index}.weight"] * gain[:, None]
        bias = kept[norm + "bias"] - kept[norm + "running_mean"] * gain
        if index == 0:
            spliced = len(layer.offsets)
            matrix = matrix * np.tile(scale, spliced)
            bias = bias - matrix @ np.tile(mean, spliced)
        layers.append((matrix, bias))
    return layers, (kept["out.weight"], kept["out.bias"])


class _Writer:
    def __init__(self, file: BinaryIO) -> None:
        self._file = file

    def token(self, *texts: str) -> None:
        for text in texts:
            self._file.write(text.encode() + b" ")

    def text(self, text: str) -> None:
        self._file.write(text.encode())

    def integer(self, *values: int) -> None:
        for value in values:
            self._file.write(b"\4" + struct.pack("<i", value))

    def real(self, value: float) -> None:
        self._file.write(b"\4" + struct.pack("<f", value))

    def integers(self, values: list[int]) -> None:
        self.integer(len(values))
        self._file.write(np.asarray(values, "<i4").tobytes())

    def vector(self, values: Array | list[float]) -> None:
        floats = np.asarray(values, "<f4")
        self._file.write(b"FV \4" + struct.pack("<i", len(floats)) + floats.tobytes())

    def matrix(self, values: Array) -> None:
        low, span = float(values.min()), float(np.ptp(values))
        steps = np.round((values - low) / span * 65535).astype("<u2")
        self._file.write(b"CM2 " + struct.pack("<ffii", low, span, *values.shape))
        self._file.write(steps.tobytes())


def _write_transitions(out: _Writer) -> None:
    """Writes one state per phone, which is held or left with equal probability; the blank's pdf is
    0.
    """
    phones = list(range(1, len(PHONES) + 1))
    out.token("<TransitionModel>", "<Topology>")
    out.integers(phones)
    out.integers([-1, *[0] * len(phones)])
    out.integer(1, 2, 0, 2, 0)
    out.real(0.5)
    out.integer(1)
    out.real(0.5)
    out.integer(-1, 0)
    out.token("</Topology>", "<Triples>")
    out.integer(len(phones))
    for phone in phones:
        out.integer(phone, 0, 0 if phone <= 2 else (phone - 3) // 4 + 1)
    out.token("</Triples>", "<LogProbs>")
    out.vector([0.0, *[float(np.log(0.5))] * (2 * len(phones))])
    out.token("</LogProbs>", "</TransitionModel>")


def _write_network(
    out: _Writer, layers: list[tuple[Array, Array]], last: tuple[Array, Array]
) -> None:
    out.token("<Nnet3>")
    out.text("\n" + "\n".join(_wiring()) + "\n\n")
    count = sum(3 if layer.residual else 2 for layer in LAYERS) + 2
    out.token("<NumComponents>")
    out.integer(count)
    for layer, (matrix, bias) in zip(LAYERS, layers, strict=True):
        _write_affine(out, f"{layer.name}.affine", matrix, bias)
        _write_plain(out, f"{layer.name}.relu", "RectifiedLinearComponent", len(bias))
        if layer.residual:
            out.token("<ComponentName>", f"{layer.name}.sum", "<NoOpComponent>", "<Dim>")
            out.integer(len(bias))
            out.token("<BackpropScale>")
            out.real(1.0)
            out.token("</NoOpComponent>")
    _write_affine(out, "out.affine", *last)
    _write_plain(out, "out.ls", "LogSoftmaxComponent", OUTPUTS)
    out.token("</Nnet3>", "<LeftContext>")
    out.integer(LEFT)
    out.token("<RightContext>")
    out.integer(RIGHT)
    out.token("<Priors>")
    out.vector([])


def _wiring() -> list[str]:
    lines, before = [f"input-node name=input dim={DIM}"], "input"
    for name, offsets, residual in LAYERS:
        parts = [f"Offset({before}, {offset})" if offset else before for offset in offsets]
        spliced = f"Append({', '.join(parts)})"
        lines.append(f"component-node name={name}.affine component={name}.affine input={spliced}")
        lines.append(f"component-node name={name}.relu component={name}.relu input={name}.affine")
        if residual:
            total = f"Sum({name}.relu, {before})"
            lines.append(f"component-node name={name}.sum component={name}.sum input={total}")
        before = f"{name}.sum" if residual else f"{name}.relu"
    return [
        *lines,
        f"component-node name=out.affine component=out.affine input={before}",
        "component-node name=out.ls component=out.ls input=out.affine",
        "output-node name=output input=out.ls objective=linear",
    ]


def _write_affine(out: _Writer, name: str, matrix: Array, bias: Array) -> None:
    out.token("<ComponentName>", name, "<FixedAffineComponent>", "<LinearParams>")
    out.matrix(matrix)
    out.token("<BiasParams>")
    out.vector(bias)
    out.token("</FixedAffineComponent>")


def _write_plain(out: _Writer, name: str, kind: str, size: int) -> None:
    out.token("<ComponentName>", name, f"<{kind}>", "<Dim>")
    out.integer(size)
    out.token("<ValueAvg>")
    out.vector([])
    out.token("<DerivAvg>")
    out.vector([])
    out.token("<Count>")
    out.real(0.0)
    out.token(f"</{kind}>")
