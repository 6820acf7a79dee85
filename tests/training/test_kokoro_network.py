"""Many utterances at once: each has its own style and length, and none is lost."""

import numpy as np
import pytest
import torch
from scipy.signal import resample

from handsfree.training import kokoro_network
from handsfree.training.kokoro_network import Saying, at_16_khz, speak, style_of


class Humming:
    """A voice that hums: as long as its tokens say, as high as its first style value."""

    def encode(self, tokens, style, speed):
        size, length = tokens.shape
        lasting = torch.full((size, length), 6) / speed[:, None]
        prosody = style[:, None, :1].expand(size, length, 640)
        return prosody, torch.ones(size, 512, length), lasting.round().long()

    def decode(self, prosody, text, frames, style, pitch):
        time = torch.arange(frames.shape[1] * 600) / 24_000
        hertz = 100 * style[:, :1] * pitch[:, None]
        return torch.sin(2 * torch.pi * hertz * time[None])


def saying(number: int, length: int, voice: int, speed: float = 1.0) -> Saying:
    only = ((voice, 1.0),)
    return Saying(number, tuple(range(1, length + 1)), only, only, speed)


def test_every_saying_is_said_once_at_its_length_and_in_its_voice():
    voices = np.ones((2, 60, 256), np.float32)
    voices[1] *= 3
    sayings = [saying(n, 4 + n % 5, n % 2, 1.0 if n % 3 else 2.0) for n in range(40)]
    heard: dict[int, np.ndarray] = {}
    said = speak(Humming(), sayings, voices, torch.device("cpu"), 60, heard.setdefault, batch=8)
    assert said == 40 and sorted(heard) == list(range(40))
    for each in sayings:
        frames = (len(each.tokens) + 2) * round(6 / each.speed)
        frames += -frames % 4
        assert len(heard[each.number]) == pytest.approx(frames * 400, abs=420)
        hum = np.abs(np.fft.rfft(heard[each.number], 16_000))
        assert abs(int(hum.argmax()) - (300 if each.number % 2 else 100)) <= 2
        assert np.abs(heard[each.number].astype(int)).max() == pytest.approx(16_000, abs=2)


def test_what_is_too_long_is_left_out_and_time_ends_it(monkeypatch):
    voices = np.ones((1, 400, 256), np.float32)
    heard: dict[int, np.ndarray] = {}
    given = [saying(0, 5, 0), saying(1, 300, 0)]
    assert speak(Humming(), given, voices, torch.device("cpu"), 60, heard.setdefault) == 1
    clock = iter(range(0, 1000, 10))
    monkeypatch.setattr(kokoro_network.time, "monotonic", lambda: next(clock))
    many = [saying(n, 5 + n, 0) for n in range(20)]
    assert speak(Humming(), many, voices, torch.device("cpu"), 35, heard.setdefault) < 20


def test_timbre_and_manner_are_mixed_apart():
    voices = torch.zeros(3, 20, 256)
    for voice in range(3):
        voices[voice] = voice + 1
    mixed = Saying(0, (1, 2, 3), ((0, 0.5), (2, 0.5)), ((1, 1.0),))
    style = style_of(mixed, voices)
    assert style.shape == (256,)
    assert style[:128].unique().tolist() == [2.0] and style[128:].unique().tolist() == [2.0]
    longer = Saying(0, tuple(range(90)), ((0, 1.0),), ((2, 1.0),))
    assert style_of(longer, voices)[[0, 200]].tolist() == [1.0, 3.0]


def test_sixteen_kilohertz_are_what_scipy_makes_of_it():
    sound = torch.from_numpy(np.random.default_rng(5).normal(size=(2, 6_000))).float()
    expected = resample(sound.numpy(), 4_000, axis=1)
    # The topmost line of the spectrum is halved by scipy and kept here.
    assert np.abs(at_16_khz(sound).numpy() - expected).max() < 0.05
