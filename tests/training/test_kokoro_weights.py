"""The weights are split into parts and read back in 32 bits; an LSTM's gates are reordered."""

from pathlib import Path

import numpy as np
import torch

from handsfree.training import kokoro_weights
from handsfree.training.kokoro_weights import read_parts, write_parts


def test_weights_in_eight_bits_come_back_as_numbers(tmp_path: Path):
    rng = np.random.default_rng(3)
    whole = rng.integers(-128, 127, (4, 5)).astype(np.int8)
    scale, zero = np.array([[0.5], [0.25], [1.0], [2.0]], np.float32), np.array(3, np.int8)
    floats = rng.normal(size=7).astype(np.float32)
    write_parts({"a|q": whole, "a|s": scale, "a|z": zero, "b": floats}, tmp_path)
    assert len(list(tmp_path.glob("kokoro-*.npz"))) == kokoro_weights.PARTS
    found = read_parts(tmp_path)
    assert set(found) == {"a", "b"}
    assert np.array_equal(found["b"], floats)
    assert np.allclose(found["a"], (whole.astype(float) - 3) * scale)


def test_the_gates_of_an_lstm_are_put_in_the_order_of_pytorch():
    """Against the equations of the operator LSTM in ONNX's specification (gates i, o, f, c)."""
    rng = np.random.default_rng(4)
    size, hidden = 3, 2
    weights, recurrent = rng.normal(size=(4 * hidden, size)), rng.normal(size=(4 * hidden, hidden))
    given, state = rng.normal(size=size), rng.normal(size=hidden)
    cell = rng.normal(size=hidden)
    gates = (weights @ given + recurrent @ state).reshape(4, hidden)
    i, o, f = (1 / (1 + np.exp(-g)) for g in gates[:3])
    expected = o * np.tanh(f * cell + i * np.tanh(gates[3]))

    lstm = torch.nn.LSTMCell(size, hidden, bias=False).double()
    with torch.no_grad():
        lstm.weight_ih.copy_(torch.from_numpy(kokoro_weights._gates(weights)))
        lstm.weight_hh.copy_(torch.from_numpy(kokoro_weights._gates(recurrent)))
        found, _ = lstm(
            *(torch.from_numpy(x)[None] for x in (given,)),
            (torch.from_numpy(state)[None], torch.from_numpy(cell)[None]),
        )
    assert np.allclose(found[0].numpy(), expected)


def test_a_scale_broadcasts_over_its_weight():
    assert kokoro_weights._column(np.arange(4.0), 3).shape == (4, 1, 1)
    assert kokoro_weights._column(np.array([2.0]), 3).shape == ()
