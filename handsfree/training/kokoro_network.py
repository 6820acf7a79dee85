"""Kokoro-82M in PyTorch, many utterances at once: about 300 times real time on one GPU.

The modules are those of the package kokoro (Apache-2.0), which speaks one utterance at a time. Here
utterances with equal token counts are encoded together, and those with equal frame counts are
decoded together, so that no padding or masking is needed.
"""

from __future__ import annotations

import importlib
import sys
import time
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import torch
from numpy.typing import NDArray
from torch import Tensor, nn
from torch.nn import functional

from handsfree.training.kokoro_weights import read_parts
from handsfree.training.robot_voices import Sound

STYLE = 128
"""Half of a style vector: the first half is the timbre, the second the speaking style (pace,
melody).
"""
_FRAME = 600
"""Samples per frame at 24 kHz; 400 at 16 kHz."""
_LONGEST_FRAMES = 420
_FRAME_STEP = 4
"""Frame counts are rounded to multiples of this, so that more utterances share one."""
_ENCODED, _CHUNK = 256, 6000
_PEAK = 16_000.0

Weighted = tuple[tuple[int, float], ...]
"""Voices by number, each with its share in a mix."""


@dataclass(frozen=True)
class Saying:
    """One utterance to synthesize: its tokens, voices, speed and pitch.

    ``timbre`` and ``manner`` are mixes of voices; ``speed`` and ``pitch`` are 1.0 for the voice's
    default.
    """

    number: int
    tokens: tuple[int, ...]
    timbre: Weighted
    manner: Weighted
    speed: float = 1.0
    pitch: float = 1.0


class Kokoro(nn.Module):
    """The network without its padding. Built from the package's modules in ``folder``."""

    def __init__(self, folder: Path) -> None:
        super().__init__()
        parts, generator = _package(folder)
        self.bert = parts.CustomAlbert(_albert())
        self.bert_encoder = nn.Linear(768, 512)
        self.predictor = parts.ProsodyPredictor(STYLE, 512, 3, 50, 0.2)
        self.text_encoder = parts.TextEncoder(512, 5, 3, 178)
        dilations = [[1, 3, 5]] * 3
        self.decoder = generator.Decoder(
            512, STYLE, 80, [3, 7, 11], [10, 6], 512, dilations, [20, 12], 20, 5
        )

    @classmethod
    def load(cls, folder: Path) -> Kokoro:
        """Loads the weights of ``folder``. Raises ValueError if they do not fit."""
        network = cls(folder).eval()
        for module in network.modules():
            if hasattr(module, "weight_g"):
                nn.utils.remove_weight_norm(module)
        given = network.state_dict()
        loaded = {
            name: torch.from_numpy(array).reshape(given[name].shape)
            for name, array in read_parts(folder).items()
            if name in given
        }
        # The export has the affine part of instance norms folded away: they stay 1 and 0.
        missing = [n for n in given if n not in loaded and ".norm." not in n and "_ids" not in n]
        missing = [n for n in missing if ".pooler." not in n and "stft" not in n]
        if missing:
            raise ValueError(f"{folder}: the weights lack {', '.join(missing[:5])}")
        network.load_state_dict(loaded, strict=False)
        return network

    @torch.no_grad()
    def encode(self, tokens: Tensor, style: Tensor, speed: Tensor) -> tuple[Tensor, Tensor, Tensor]:
        """Encodes tokens (batch, length) with styles (batch, 256) and speeds (batch).

        Returns the input of the prosody (batch, length, 640), that of the decoder (batch, 512,
        length), and the frame count of each token (batch, length).
        """
        size, length = tokens.shape
        lengths = torch.full((size,), length)
        nothing = torch.zeros(size, length, dtype=torch.bool, device=tokens.device)
        encoded = self.bert_encoder(self.bert(tokens)).transpose(1, 2)
        prosody = self.predictor.text_encoder(encoded, style[:, STYLE:], lengths, nothing)
        hidden, _ = self.predictor.lstm(prosody)
        frames = torch.sigmoid(self.predictor.duration_proj(hidden)).sum(-1) / speed[:, None]
        text = self.text_encoder(tokens, lengths, nothing)
        return prosody, text, torch.round(frames).clamp(min=1).long()

    @torch.no_grad()
    def decode(
        self, prosody: Tensor, text: Tensor, frames: Tensor, style: Tensor, pitch: Tensor
    ) -> Tensor:
        """Sound at 24 kHz; ``frames`` (batch, count) says which token sounds in each frame."""
        index = frames[..., None].expand(-1, -1, prosody.shape[2])
        spread = torch.gather(prosody, 1, index).transpose(1, 2)
        spoken = torch.gather(text, 2, frames[:, None].expand(-1, text.shape[1], -1))
        melody, loudness = self.predictor.F0Ntrain(spread, style[:, STYLE:])
        sound: Tensor = self.decoder(spoken, melody * pitch[:, None], loudness, style[:, :STYLE])
        return sound.squeeze(1)


def speak(
    network: Kokoro,
    sayings: Sequence[Saying],
    voices: NDArray[np.float32],
    device: torch.device,
    seconds: float,
    emit: Callable[[int, Sound], None],
    batch: int = 64,
) -> int:
    """Speaks all utterances in the order of their lengths; passes each to ``emit`` with its
    number.

    ``voices`` (voices, 510, 256) holds a style for each voice and number of tokens. The sound is
    mono at 16 kHz, at half of full scale, without surrounding silence. Stops after ``seconds``;
    returns the number of utterances.
    """
    began, said = time.monotonic(), 0
    styles = torch.from_numpy(voices).to(device)
    for first in range(0, len(sayings), _CHUNK):
        waiting: dict[int, list[_Encoded]] = {}
        for tokens, group in _by(lambda s: len(s.tokens), sayings[first : first + _CHUNK]).items():
            for one in range(0, len(group), _ENCODED):
                for each in _encoded(network, group[one : one + _ENCODED], tokens, styles):
                    waiting.setdefault(len(each.frames), []).append(each)
        for _, same in sorted(waiting.items()):
            for one in range(0, len(same), batch):
                for number, sound in _decoded(network, same[one : one + batch], device):
                    emit(number, sound)
                    said += 1
                if time.monotonic() - began > seconds:
                    return said
    return said


def style_of(saying: Saying, voices: Tensor) -> Tensor:
    """The style vector (256), whose halves are mixed separately, from the row for this number of
    tokens.
    """
    row = voices[:, min(len(saying.tokens), voices.shape[1] - 1)]
    halves = (
        torch.stack([share * row[voice, part] for voice, share in mix]).sum(0)
        for mix, part in (
            (saying.timbre, slice(None, STYLE)),
            (saying.manner, slice(STYLE, None)),
        )
    )
    return torch.cat(list(halves))


@dataclass(frozen=True)
class _Encoded:
    saying: Saying
    prosody: Tensor
    text: Tensor
    frames: NDArray[np.int64]
    style: Tensor


def _encoded(
    network: Kokoro, group: Sequence[Saying], tokens: int, voices: Tensor
) -> Iterable[_Encoded]:
    device = voices.device
    given = torch.tensor([[0, *saying.tokens, 0] for saying in group], device=device)
    style = torch.stack([style_of(saying, voices) for saying in group])
    speed = torch.tensor([saying.speed for saying in group], device=device)
    prosody, text, lasting = network.encode(given, style, speed)
    for row, lasts in enumerate(lasting.cpu().numpy()):
        lasts[-1] += (-lasts.sum()) % _FRAME_STEP
        if lasts.sum() <= _LONGEST_FRAMES:
            frames = np.repeat(np.arange(tokens + 2), lasts)
            yield _Encoded(group[row], prosody[row], text[row], frames, style[row])


def _decoded(
    network: Kokoro, group: Sequence[_Encoded], device: torch.device
) -> Iterable[tuple[int, Sound]]:
    most = max(len(each.prosody) for each in group)
    short = [most - len(each.prosody) for each in group]
    sound = network.decode(
        torch.stack(
            [functional.pad(e.prosody, (0, 0, 0, n)) for e, n in zip(group, short, strict=True)]
        ),
        torch.stack([functional.pad(e.text, (0, n)) for e, n in zip(group, short, strict=True)]),
        torch.from_numpy(np.stack([each.frames for each in group])).to(device),
        torch.stack([each.style for each in group]),
        torch.tensor([each.saying.pitch for each in group], device=device),
    )
    sound = at_16_khz(sound)
    sound = sound * (_PEAK / sound.abs().amax(1, keepdim=True).clamp_min(1e-3))
    for each, samples in zip(group, sound.round().short().cpu().numpy(), strict=True):
        loud = np.flatnonzero(np.abs(samples) > 0.01 * _PEAK)
        if len(loud) >= 800:
            yield each.saying.number, samples[max(0, loud[0] - 300) : loud[-1] + 700]


def at_16_khz(sound: Tensor) -> Tensor:
    """Resamples sound (batch, n * 600) at 24 kHz to (batch, n * 400) at 16 kHz."""
    kept = sound.shape[1] * 2 // 3
    spectrum = torch.fft.rfft(sound.float())[:, : kept // 2 + 1]
    return torch.fft.irfft(spectrum, kept) * (kept / sound.shape[1])


def _by(key: Callable[[Saying], int], sayings: Iterable[Saying]) -> dict[int, list[Saying]]:
    found: dict[int, list[Saying]] = {}
    for saying in sayings:
        found.setdefault(key(saying), []).append(saying)
    return found


def _albert() -> Any:
    from transformers import AlbertConfig

    return AlbertConfig(
        vocab_size=178,
        hidden_size=768,
        num_attention_heads=12,
        intermediate_size=2048,
        max_position_embeddings=512,
        num_hidden_layers=12,
    )


def _package(folder: Path) -> tuple[Any, Any]:
    """The two layer modules of the package, from the copy in ``folder``."""
    if str(folder) not in sys.path:
        sys.path.insert(0, str(folder))
    return importlib.import_module("kokoro.modules"), importlib.import_module("kokoro.istftnet")
