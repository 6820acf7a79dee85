"""Batches: shape, level, and reproducibility by seed."""

import random

import numpy as np
import pytest
import torch

from handsfree.audio.levels import leveled as leveled_by_recognizer
from handsfree.training import augment, batch_plans
from handsfree.training.augment import Batch, Batches, leveled
from handsfree.training.batch_plans import planned
from handsfree.training.features import DIM, SHIFT, WINDOW
from handsfree.training.network import LEFT, RIGHT
from handsfree.training.sound_bank import SYNTHETIC, Bank

SIZE = 8


def bank() -> Bank:
    """Buzzes of three groups, half a second to two seconds long, and one noise."""
    bank = Bank.empty(60 / 3600, torch.device("cpu"))
    rng = np.random.default_rng(1)
    for number in range(24):
        samples = int(rng.integers(8_000, 32_000))
        time = np.arange(samples) / 16_000
        buzz = 16_000 * np.sin(2 * np.pi * (120 + 10 * number) * time) ** 9
        group = (SYNTHETIC, "words", "sentences")[number % 3]
        bank.add_utterance(group, buzz.astype(np.int16), ((number + 1, 5), (number + 1, 6)))
    place = bank.add(rng.normal(0, 1000, 20_000).astype(np.int16))
    assert place is not None
    bank.noises.append(place)
    return bank


def drawn(seed: int) -> tuple[Batches, Batch]:
    random.seed(seed)
    torch.manual_seed(seed)
    batches = Batches(bank(), SIZE)
    return batches, batches.draw()


def test_a_batch_has_context_around_its_frames():
    _, batch = drawn(1)
    size, time, bands = batch.features.shape
    assert (size, bands) == (SIZE, DIM)
    assert torch.isfinite(batch.features).all()
    rest = time - (LEFT + int(batch.frames.max()) + RIGHT)
    assert 0 <= rest < 0.3 * 16_000 / SHIFT  # lengths go in steps of 0.3 s
    # The last frame of a shorter one is repeated to the end.
    shortest = int(batch.frames.argmin())
    after = batch.features[shortest, LEFT + int(batch.frames[shortest]) - 1 :]
    assert torch.equal(after, after[:1].expand_as(after))


def test_every_utterance_can_be_said_in_two_ways():
    _, batch = drawn(2)
    assert len(batch.ways) == SIZE
    for usual, other in batch.ways:
        assert len(usual) == len(other) >= 2
        assert set(usual[1::2]) == {5} and set(other[1::2]) <= {5, 6}


def test_a_seed_gives_the_same_batch_and_another_seed_another():
    _, first = drawn(3)
    _, again = drawn(3)
    _, other = drawn(4)
    assert torch.equal(first.features, again.features) and first.ways == again.ways
    assert first.features.shape != other.features.shape or first.ways != other.ways


def test_pieces_are_laid_one_after_another(monkeypatch):
    monkeypatch.setattr(batch_plans, "_BEFORE_S", (0.1, 0.1))
    monkeypatch.setattr(batch_plans, "_AFTER_S", (0.2, 0.2))
    monkeypatch.setattr(batch_plans.random, "uniform", lambda low, high: max(low, min(1.0, high)))
    held = Bank.empty(10 / 3600, torch.device("cpu"))
    for level in (1000, 3000):
        held.add_utterance("words", np.full(16_000, level, np.int16), ((1,),))
    one, two = held.groups["words"]
    sound, lengths = Batches(held, 2)._laid_out(planned([[one, two], [two]]))
    pause = 4_000
    assert lengths.tolist() == [1_600 + 32_000 + pause + 3_200, 1_600 + 16_000 + 3_200]
    assert sound.shape == (2, 43_200)  # in steps of 0.3 s
    second = 3000 * 10 ** (1.0 / 20)
    at = [800, 2_000, 17_000, 19_000, 22_000, 37_000, 39_000]
    assert sound[0, at].tolist() == pytest.approx([0, 1000, 1000, 0, second, second, 0])
    assert sound[1, at].tolist() == [0, 3000, 3000, 0, 0, 0, 0]


def test_sound_is_in_sixteen_bits_and_at_the_level_of_the_recognizer():
    batches, _ = drawn(5)
    voice = torch.from_numpy(np.random.default_rng(6).normal(0, 50, (64, 32_000))).float()
    disturbed = batches._in_noise(voice, voice.pow(2).mean(1), torch.full((64,), 32_000))
    assert torch.equal(disturbed, disturbed.round().clamp(-32_768, 32_767))
    loud = disturbed.unfold(1, 320, 320).pow(2).mean(-1).quantile(0.9, dim=1).sqrt()
    jitter_db = 20 * torch.log10(loud / 3000)
    assert jitter_db.abs().max() < 4.2
    assert jitter_db.max() - jitter_db.min() > 4


def test_training_sets_the_level_as_the_recognizer_does():
    samples = np.random.default_rng(7).normal(0, 400, 16_123).round().astype(np.int16)
    ours = leveled(torch.from_numpy(samples)[None].float())[0].numpy()
    assert np.allclose(ours, leveled_by_recognizer(samples), rtol=1e-4)


def test_each_noise_has_its_share_of_every_batch(monkeypatch):
    batches, _ = drawn(8)
    asked: list[tuple[str, int]] = []

    def noise(kind: str, size: int, sound: torch.Tensor) -> torch.Tensor:
        asked.append((kind, size))
        return torch.zeros(size, sound.shape[1])

    monkeypatch.setattr(batches, "_noise", noise)
    rows = 4000
    voice = torch.ones(rows, WINDOW + SHIFT)
    batches._in_noise(voice, torch.ones(rows), torch.full((rows,), WINDOW))
    assert {kind: size / rows for kind, size in asked} == pytest.approx(
        {kind: last - first for kind, (first, last) in augment._KINDS.items()}, abs=0.001
    )
