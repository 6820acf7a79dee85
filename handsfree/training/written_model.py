"""Reads a written model back as a network, so that a training can continue from it.

A written model has its batch norms folded into its layers. ``settled`` restores them from the
layers' outputs on batches of a training, without changing the network's function.
"""

from __future__ import annotations

import struct
from collections.abc import Iterable, Sequence
from pathlib import Path

import numpy as np
import torch
from numpy.typing import NDArray
from torch import Tensor, nn
from torch.nn import functional

from handsfree.training.features import DIM
from handsfree.training.network import LAYERS, Network

NEW_GAIN = 0.01
"""Initial scale of a residual layer that the file lacks, close to zero."""
_TRAINED_RMS = 0.07
"""Typical RMS of a layer's weights after a training. A norm cancels any scale, but the smaller the
weights, the more a training step changes them.
"""


def read_network(path: Path) -> Network:
    """Reads the network in a network.pt or in a written final.mdl."""
    if path.suffix == ".mdl":
        return read_model(path)
    kept = torch.load(path, map_location="cpu")["network"]
    network = Network(kept["out.weight"].shape[1])
    network.load_state_dict(kept)
    return network


def read_model(path: Path) -> Network:
    """Reads a network written by ``export``, in evaluation mode.

    Residual layers that the file lacks are added at the end. Raises ValueError for any other file.
    """
    content = path.read_bytes()
    last = _affine(content, "out")
    if last is None:
        raise ValueError(f"{path}: has no output layer")
    network = Network(last[0].shape[1])
    with torch.no_grad():
        for index, layer in enumerate(LAYERS):
            found, norm = _affine(content, layer.name), network.norm[index]
            assert isinstance(norm, nn.BatchNorm1d)
            if found is None:
                if not layer.residual:
                    raise ValueError(f"{path}: has no layer {layer.name}")
                norm.weight.fill_(NEW_GAIN)
                continue
            _put(network.affine[index].weight, found[0], path)
            norm.running_var.fill_(1 - norm.eps)
            _put(norm.bias, found[1], path)
        _put(network.out.weight, last[0], path)
        _put(network.out.bias, last[1], path)
        network.input_norm.running_var.fill_(1 - network.input_norm.eps)
    return network.eval()


@torch.no_grad()
def settled(network: Network, batches: Iterable[Tensor]) -> Tensor:
    """Sets each norm to the statistics of its inputs in these batches of features, in place.

    The function of the layers does not change. Returns the mean output, which is a prior.
    """
    held = list(batches)
    seen = torch.cat([each.reshape(-1, DIM) for each in held])
    norm = network.input_norm
    before_mean, before_var = norm.running_mean.clone(), norm.running_var.clone()
    norm.running_mean.copy_(seen.mean(0))
    norm.running_var.copy_(seen.var(0))
    # Converts the first layer's present input to its earlier one.
    scale = ((norm.running_var + norm.eps) / (before_var + norm.eps)).sqrt()
    shift = (norm.running_mean - before_mean) / (before_var + norm.eps).sqrt()
    first, spliced = network.affine[0], len(LAYERS[0].offsets)
    moved = first.weight @ shift.repeat(spliced)
    first.weight.mul_(scale.repeat(spliced))
    network.norm[0].running_mean.sub_(moved)
    for index, affine in enumerate(network.affine):
        outputs = _outputs(network, affine, held)
        norm = network.norm[index]
        gain = norm.weight / (norm.running_var + norm.eps).sqrt()
        constant = norm.bias - norm.running_mean * gain
        mean, variance = outputs.mean(0), outputs.var(0).clamp_min(1e-8)
        norm.weight.copy_(gain * (variance + norm.eps).sqrt())
        norm.bias.copy_(constant + gain * mean)
        size = affine.weight.pow(2).mean(1).sqrt()
        scale = torch.where(norm.weight.abs() > NEW_GAIN, _TRAINED_RMS / size, 1.0)
        affine.weight.mul_(scale[:, None])
        norm.running_mean.copy_(mean * scale)
        norm.running_var.copy_(variance * scale**2)
    return _mean_output(network, held)


@torch.no_grad()
def restated(network: Network, batches: Sequence[Tensor]) -> Tensor:
    """Sets each norm in the layers to the statistics of its inputs in these batches, in place.

    Returns the mean output. The weights do not change, so the function does.
    """
    for affine, norm in zip(network.affine, network.norm, strict=True):
        outputs = _outputs(network, affine, batches)
        norm.running_mean.copy_(outputs.mean(0))
        norm.running_var.copy_(outputs.var(0).clamp_min(1e-8))
    return _mean_output(network, batches)


def _outputs(network: Network, layer: nn.Module, batches: Sequence[Tensor]) -> Tensor:
    """The outputs of a layer for the batches (frames, width)."""
    given: list[Tensor] = []
    hook = layer.register_forward_hook(lambda _layer, _input, output: given.append(output))
    for each in batches:
        network(each)
    hook.remove()
    return torch.cat([each.reshape(-1, network.width) for each in given])


def _mean_output(network: Network, batches: Sequence[Tensor]) -> Tensor:
    found = [functional.softmax(network(each), -1).mean((0, 1)) for each in batches]
    return torch.stack(found).mean(0)


def _affine(content: bytes, name: str) -> tuple[NDArray[np.float32], NDArray[np.float32]] | None:
    """Matrix and bias of a layer."""
    begin = f"<ComponentName> {name}.affine <FixedAffineComponent> <LinearParams> CM2 ".encode()
    at = content.find(begin)
    if at < 0:
        return None
    at += len(begin)
    low, span, rows, columns = struct.unpack_from("<ffii", content, at)
    steps = np.frombuffer(content, "<u2", rows * columns, at + 16).reshape(rows, columns)
    at = content.index(b"<BiasParams> FV \4", at + 16 + 2 * rows * columns) + 17
    (size,) = struct.unpack_from("<i", content, at)
    bias = np.frombuffer(content, "<f4", size, at + 4)
    return (low + steps.astype(np.float64) * (span / 65535)).astype(np.float32), bias.copy()


def _put(weight: Tensor, values: NDArray[np.float32], path: Path) -> None:
    if weight.shape != values.shape:
        raise ValueError(f"{path}: shape {values.shape} instead of {tuple(weight.shape)}")
    weight.copy_(torch.from_numpy(values))
