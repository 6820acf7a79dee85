"""A training of a few steps: the loss falls, and Vosk opens the result."""

import json
import shutil
import sys
from itertools import count
from multiprocessing import get_context
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
import soundfile
import torch
from torch import distributed

from handsfree.recognition.recognizer import VoskRecognizer
from handsfree.recognition.speech_model import SHIPPED, SpeechModel
from handsfree.training import train as training
from handsfree.training.augment import Batch
from handsfree.training.ctc import loss_with_prior
from handsfree.training.network import LEFT, OUTPUTS, RIGHT, Network
from handsfree.training.sound_bank import Bank

FRAMES = 45
BUZZ = (9_000 * np.sin(np.arange(16_000))).astype(np.int16)


class OneBatch:
    """The same batch again and again."""

    def __init__(self) -> None:
        generator = torch.Generator().manual_seed(1)
        features = torch.randn(2, LEFT + FRAMES + RIGHT, 40, generator=generator)
        ways = [[(3, 4), (3, 5)], [(6,), (6,)]]
        self.batch = Batch(features, torch.tensor([FRAMES, FRAMES - 7]), ways)
        self.bank = Bank.empty(1 / 3600, torch.device("cpu"))

    def draw(self) -> Batch:
        return self.batch

    def loss(self, network: Network) -> float:
        """Of the network as it is used, after the training."""
        with torch.no_grad():
            log_probs = network.eval()(self.batch.features).log_softmax(-1)
        outputs = (self.batch.frames + 2) // 3
        flat = torch.full((OUTPUTS,), 1 / OUTPUTS)
        log_probs.requires_grad_()
        return loss_with_prior(log_probs, outputs, self.batch.ways, flat, 0.0)[0].item()


def test_a_few_steps_lower_the_loss_of_their_batch(monkeypatch):
    torch.manual_seed(3)
    ticks = count()
    clock = SimpleNamespace(monotonic=lambda: float(next(ticks)))
    monkeypatch.setattr(training, "time", clock)
    batches, network, kept = OneBatch(), Network(24), []
    before = batches.loss(network)
    network.train()
    trained = training.train(
        batches,
        network,
        torch.full((OUTPUTS,), 1 / OUTPUTS),
        training.Schedule(seconds=5, rate=0.2, prior_from=0.5),  # it looks every ten steps
        lambda network, prior: kept.append(prior),
    )
    assert batches.loss(trained) < 0.7 * before
    assert len(kept) == 4  # three quarters and the end
    assert kept[-1].sum() == pytest.approx(1, abs=1e-4)


@pytest.fixture
def data(tmp_path):
    """What ``prepare`` writes, with one recording."""
    folder = tmp_path / "data"
    folder.mkdir()
    recording = folder / "sound-1.bin"
    soundfile.write(recording, BUZZ, 16_000, format="FLAC")
    place = {"part": 1, "start": 0, "bytes": recording.stat().st_size}
    index = [{**place, "group": "words", "text": "stop"}]
    (folder / "index.json").write_text(json.dumps(index), encoding="utf-8")
    (folder / "words.json").write_text(json.dumps({"stop": [[31, 32]]}), encoding="utf-8")
    return folder


def test_a_run_leaves_weights_and_a_model_that_vosk_opens(data, tmp_path, monkeypatch):
    out = tmp_path / "out"
    options = ["--minutes", "0.02", "--batch", "4", "--width", "16", "--hours", "0.01"]
    options += ["--processes", "1"]
    monkeypatch.setattr(sys, "argv", ["train", str(data), str(out), *options])
    training.main()
    kept = torch.load(out / "network.pt")
    Network(16).load_state_dict(kept["network"])
    model = tmp_path / "model"
    shutil.copytree(SHIPPED, model)
    shutil.copy(out / "final.mdl", model / "am" / "final.mdl")
    heard = VoskRecognizer(SpeechModel.load(model)).recognize(np.zeros(8000, np.int16))
    assert isinstance(heard.text, str)


def _one_of_two(rank: int, meeting: str, found: Any) -> None:
    distributed.init_process_group("gloo", init_method=meeting, rank=rank, world_size=2)
    team = training.Team(rank, 2)
    gradients = [torch.full((2, 3), float(rank)), torch.tensor([10.0 * rank])]
    team.share(gradients)
    found.put((team.agreed(rank + 0.5), gradients[0].tolist(), gradients[1].tolist()))
    distributed.destroy_process_group()


def test_two_processes_learn_from_the_mean_of_their_gradients(tmp_path):
    spawn = get_context("spawn")
    found = spawn.Queue()
    meeting = f"file://{tmp_path / 'meeting'}"
    both = [spawn.Process(target=_one_of_two, args=(rank, meeting, found)) for rank in (0, 1)]
    for each in both:
        each.start()
    told = [found.get(timeout=120) for _ in both]
    for each in both:
        each.join()
    assert told == [(0.5, [[0.5] * 3] * 2, [5.0])] * 2


def test_alone_nothing_is_shared():
    gradient = torch.ones(2)
    training.ALONE.share([gradient])
    assert gradient.tolist() == [1.0, 1.0] and training.ALONE.agreed(0.25) == 0.25
