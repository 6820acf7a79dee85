"""The exported model in Vosk, compared with torch on the same frames.

The graph lets one single path through, so that Vosk has nothing to search: what it calls
the confidence of that path is the sum of the log-probabilities of the path's outputs.
"""

from __future__ import annotations

import json
import random
import shutil
from pathlib import Path

import numpy as np
import pytest
import torch
import vosk

from handsfree.recognition.fst import Fst
from handsfree.recognition.graph_compiler import Graph
from handsfree.recognition.phones import ARPABET, SILENCE, enter, placed, stay
from handsfree.recognition.speech_model import SHIPPED
from handsfree.sample_rate import SAMPLE_RATE_HZ
from handsfree.training.export import write_model
from handsfree.training.features import Mfcc
from handsfree.training.network import LEFT, OUTPUTS, RIGHT, Network, padded

WORDS = ("<eps>", "said", "#0")
# Of the weights, which are kept in 65536 steps of their range: up to 0.0005 were seen, and 0.00005
# with weights written whole. A wrong frame, layer or output is wrong by whole nats.
NATS_A_FRAME = 0.001


@pytest.fixture(scope="module")
def network() -> Network:
    """Random weights, and statistics of some batch, so that folding them in matters."""
    torch.manual_seed(1)
    network = Network(32)
    for norm in network.norm:
        torch.nn.init.uniform_(norm.weight, 0.5, 2.0)
        torch.nn.init.normal_(norm.bias)
    torch.nn.init.normal_(network.out.weight, std=0.15)
    with torch.no_grad():
        for _ in range(30):
            network(torch.randn(8, LEFT + 30 + RIGHT, 40) * 12 + torch.linspace(60, -20, 40))
    return network.eval()


def sound(samples: int, seed: int) -> np.ndarray:
    rng = np.random.default_rng(seed)
    glide = 4000 * np.sin(np.cumsum(np.linspace(0.02, 1.0, samples)))
    return np.rint(glide + rng.normal(0, 300, samples)).astype(np.int16)


def scores(network: Network, samples: np.ndarray) -> np.ndarray:
    """Log-probabilities (frames / 3, outputs) as torch has them."""
    features = Mfcc()(torch.from_numpy(samples.astype(np.float32))[None])[0]
    with torch.no_grad():
        return network(padded(features)[None])[0].double().log_softmax(-1).numpy()


def path(frames: int, rng: random.Random) -> tuple[list[int], list[int]]:
    """Transition-ids of random phones, each entered once and held; the outputs they stand for."""
    ids: list[int] = []
    outputs: list[int] = []
    while len(ids) < frames:
        number = rng.randrange(OUTPUTS)
        name = SILENCE if number == 0 else placed((ARPABET[number - 1],))[0]
        held = rng.randint(0, 3)
        ids += [enter(name), *[stay(name)] * held]
        outputs += [number] * (held + 1)
    return ids[:frames], outputs[:frames]


def score_by_vosk(folder: Path, samples: np.ndarray, ids: list[int]) -> float:
    """The score of the one path that the graph has."""
    fst = Fst()
    state = fst.add_state()
    for index, transition in enumerate(ids):
        following = fst.add_state()
        fst.add_arc(state, following, transition, WORDS.index("said") if index == 0 else 0)
        state = following
    fst.set_final(state)
    Graph(fst, WORDS).write(folder / "graph")
    vosk.SetLogLevel(-1)
    search = vosk.KaldiRecognizer(vosk.Model(str(folder)), SAMPLE_RATE_HZ)
    search.SetMaxAlternatives(1)
    search.AcceptWaveform(samples.tobytes())
    (best,) = json.loads(search.FinalResult())["alternatives"]
    assert best["text"] == "said"
    return float(best["confidence"])


@pytest.mark.parametrize("samples", [4_000, 16_000, 16_250, 40_123])
def test_vosk_computes_what_torch_computes(network, tmp_path, samples):
    shutil.copytree(SHIPPED / "conf", tmp_path / "conf")
    (tmp_path / "am").mkdir()
    write_model(network, tmp_path / "am" / "final.mdl")
    heard = sound(samples, samples)
    expected = scores(network, heard)
    for seed in range(3):
        ids, outputs = path(len(expected), random.Random(seed))
        total = expected[np.arange(len(outputs)), outputs].sum()
        by_vosk = score_by_vosk(tmp_path, heard, ids)
        assert by_vosk == pytest.approx(total, abs=NATS_A_FRAME * len(ids))


def test_what_is_written_does_not_change_the_network(network, tmp_path):
    before = {name: value.clone() for name, value in network.state_dict().items()}
    write_model(network, tmp_path / "final.mdl")
    after = network.state_dict()
    assert all(torch.equal(before[name], after[name]) for name in before)
