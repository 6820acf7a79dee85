"""Turns the int8 ONNX export of Kokoro-82M into named arrays for its PyTorch modules.

    python -m handsfree.training.kokoro_weights KOKORO.onnx OUT

OUT gets kokoro-1.npz and kokoro-2.npz, each small enough to copy. An array that the export stores
in 8 bits stays that way: ``NAME|q`` with its scale ``NAME|s`` and zero point ``NAME|z``, both in a
shape that broadcasts. Names are those of the modules in the package kokoro (Apache-2.0).
"""

from __future__ import annotations

import argparse
import re
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[Any]

PARTS = 2
_GATES = (0, 2, 3, 1)
"""Order of an LSTM's gates: ONNX has input, output, forget, cell; PyTorch input, forget, cell,
output.
"""
_FLOAT = re.compile(r"(bias|gamma|beta|LayerNorm\.weight|layer_norm\.weight|alpha\d\.\d)$")


def main() -> None:
    """Writes the parts."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n\n")[0])
    parser.add_argument("onnx", type=Path, help="the parts of the export joined to one file")
    parser.add_argument("out", type=Path)
    options = parser.parse_args()
    write_parts(read_export(options.onnx), options.out)


def write_parts(arrays: dict[str, Array], out: Path) -> None:
    """Spreads the arrays over ``PARTS`` files of about equal size."""
    out.mkdir(parents=True, exist_ok=True)
    parts: list[dict[str, Array]] = [{} for _ in range(PARTS)]
    sizes = [0] * PARTS
    for name, array in sorted(arrays.items(), key=lambda item: -item[1].nbytes):
        least = sizes.index(min(sizes))
        parts[least][name] = array
        sizes[least] += array.nbytes
    for number, part in enumerate(parts, start=1):
        np.savez_compressed(out / f"kokoro-{number}.npz", allow_pickle=False, **part)


def read_parts(folder: Path) -> dict[str, NDArray[np.float32]]:
    """All weights in 32 bits, by their names in PyTorch."""
    kept: dict[str, Array] = {}
    for number in range(1, PARTS + 1):
        with np.load(folder / f"kokoro-{number}.npz") as part:
            kept.update(part)
    found = {}
    for name, array in kept.items():
        name, _, kind = name.partition("|")
        if kind == "q":
            scale, zero = kept[f"{name}|s"], kept[f"{name}|z"].astype(np.float32)
            found[name] = ((array.astype(np.float32) - zero) * scale).astype(np.float32)
        elif not kind:
            found[name] = array.astype(np.float32)
    return found


def read_export(path: Path) -> dict[str, Array]:
    """The arrays of the ONNX file. Needs the package onnx."""
    import onnx
    from onnx import numpy_helper

    graph = onnx.load(str(path)).graph
    constants = {each.name: numpy_helper.to_array(each) for each in graph.initializer}
    found: dict[str, Array] = {}

    def keep(name: str, array: Array, scale: Array, zero: Array) -> None:
        found[f"{name}|q"] = array
        found[f"{name}|s"] = np.asarray(scale, np.float32)
        found[f"{name}|z"] = np.asarray(zero)

    for node in graph.node:
        name = _module(node.name)
        match node.op_type:
            case "MatMulInteger" | "ConvInteger":
                weight = (
                    f"{re.sub(r'_[0-9]+$', '', name) if 'albert_layers' in name else name}.weight"
                )
                if f"{weight}|q" in found:  # ALBERT runs one layer twelve times
                    continue
                array = constants[node.input[1]]
                base = node.input[1].removesuffix("_quantized")
                scale = constants[f"{base}_scale"]
                zero = constants[node.input[3]] if len(node.input) > 3 else np.zeros((), np.uint8)
                if node.op_type == "MatMulInteger":
                    keep(weight, array.T, _column(scale, 2), _column(zero, 2))
                else:
                    keep(weight, array, _column(scale, array.ndim), _column(zero, array.ndim))
            case "ConvTranspose" if "istft" not in name:
                found[f"{name}.weight"] = constants[node.input[1]]
            case "Conv" if node.input[1] in constants:
                found[f"{name}.weight"] = constants[node.input[1]]
            case "DynamicQuantizeLSTM":
                for short, at, scale_at, zero_at in (("ih", 1, 8, 9), ("hh", 2, 10, 11)):
                    array, scale, zero = (constants[node.input[n]] for n in (at, scale_at, zero_at))
                    for way, end in enumerate(("", "_reverse")):
                        keep(
                            f"{name}.weight_{short}_l0{end}",
                            _gates(array[way].T),
                            _direction(scale, way),
                            _direction(zero, way),
                        )
                for way, end in enumerate(("", "_reverse")):
                    both = constants[node.input[3]][way]
                    half = len(both) // 2
                    found[f"{name}.bias_ih_l0{end}"] = _gates(both[:half])
                    found[f"{name}.bias_hh_l0{end}"] = _gates(both[half:])
            case "DequantizeLinear":
                name = name.removesuffix(".Gather_quant_DequantizeLinear")
                base = node.input[1].removesuffix("_scale")
                keep(
                    f"{name}.weight",
                    constants[f"{base}_quantized"],
                    constants[node.input[1]],
                    constants[node.input[2]],
                )
            case _:
                pass
    (source,) = (name for name in constants if name == "onnx::MatMul_6993")
    found["decoder.generator.m_source.l_linear.weight"] = constants[source].T
    for name, array in constants.items():
        if re.match(r"(encoder|decoder)\.", name) and _FLOAT.search(name):
            found[re.sub(r"^encoder\.|^decoder\.(?=decoder)", "", name)] = array
    return {_renamed(name): array for name, array in found.items()}


def _module(node: str) -> str:
    """The module of a node of the export, in PyTorch's path notation."""
    name = re.sub(r"^/encoder/(F0|N)(\.|_proj)", r"/encoder/predictor/\1\2", node)
    name = name.replace("/decoder/decoder/", "decoder/").replace("/encoder/", "", 1)
    name = re.sub(
        r"/(Conv_quant|MatMul_quant|Gemm_MatMul_quant|ConvTranspose|LSTM_quant)$", "", name
    )
    name = re.sub(r"cnn\.(\d)\.cnn\.\1\.0", r"cnn.\1.0", name.replace("/", "."))
    return re.sub(r"^shared$", "predictor.shared", name).strip(".")


def _renamed(name: str) -> str:
    return name.replace("asr_res.asr_res.", "asr_res.").replace("conv_post.Conv", "conv_post")


def _column(values: Array, dimensions: int) -> Array:
    """One value per output, or one for all, in a shape that broadcasts over a weight."""
    values = np.asarray(values)
    return values.reshape(-1, *[1] * (dimensions - 1)) if values.size > 1 else values.reshape(())


def _direction(values: Array, way: int) -> Array:
    """The scale for one direction of an LSTM: one value per row of its weight, or one for all."""
    values = np.asarray(values)
    if values.ndim == 2:
        return _gates(values[way])[:, None]
    return values[way] if values.size > 1 else values.reshape(())


def _gates(array: Array) -> Array:
    blocks = np.split(array, 4, axis=0)
    return np.concatenate([blocks[number] for number in _GATES], axis=0)


if __name__ == "__main__":
    main()
