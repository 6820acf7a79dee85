"""Makes examples for the onset nets: features of marks at known moments in noise."""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping

import numpy as np
import torch
from torch import Tensor
from torch.nn import functional

RATE = 16000
HOP, WINDOW = 64, 128
EDGES = (1, 2, 3, 4, 5, 6, 8, 10, 13, 16, 20, 25, 31, 38, 46, 55, 64)
"""Edges of the bands, in lines of the spectrum 125 Hz apart, as in handsfree.timing.onset_net."""
FRAMES = 500
"""Frames that the net sees at once: 2 s."""
_LEARN_S = 4.0
_ROOM_RMS, _VOICE_RMS = 8.0, 2500.0
_LEAST_POWER = 1e-11


class Bank:
    """Sounds on the device, accessed by number."""

    def __init__(self, packed: Mapping[str, np.ndarray], name: str, device: str) -> None:
        companded = torch.from_numpy(packed[name]).to(device).float() / 127
        self.sound = companded.sign() * (256 ** companded.abs() - 1) / 255
        ends = torch.from_numpy(packed[f"{name}_ends"]).to(device)
        self.begin, self.length = ends[:-1], ends[1:] - ends[:-1]
        apart = torch.from_numpy(packed[f"{name}_apart"]).to(device)
        self.train, self.apart = torch.nonzero(~apart)[:, 0], torch.nonzero(apart)[:, 0]

    def draw(self, count: int, samples: int, *, apart: bool, looped: bool) -> tuple[Tensor, Tensor]:
        """Draws sounds (count, samples), from their start or looped from a random point, and their
        lengths.
        """
        which = self.apart if apart else self.train
        nth = which[torch.randint(len(which), (count,), device=which.device)]
        at = torch.arange(samples, device=which.device)[None]
        length = self.length[nth][:, None]
        if looped:
            at = (at + (torch.rand_like(length, dtype=torch.float) * length).long()) % length
        inside = at < length
        return self.sound[self.begin[nth][:, None] + torch.where(inside, at, 0)] * inside, length


def examples(
    banks: Mapping[str, Bank], count: int, device: str, *, apart: bool
) -> tuple[Tensor, Tensor]:
    """Features (count, channels, FRAMES) and the frame of the mark, FRAMES for none."""
    learn = round(_LEARN_S * RATE / HOP)
    total = (learn + FRAMES) * HOP + WINDOW - HOP

    def some(share: float) -> Tensor:
        return torch.rand(count, 1, device=device) < share

    def uniform(low: float, high: float) -> Tensor:
        return low + (high - low) * torch.rand(count, 1, device=device)

    voice = _VOICE_RMS / 32768 * 10 ** (uniform(-10, 6) / 20)
    # --- the noise
    bed, _ = banks["noises"].draw(count, total, apart=apart, looped=True)
    other, _ = banks["noises"].draw(count, total, apart=apart, looped=True)
    bed, _ = _at_another_speed(_of_rms_one_file(bed), 0, most=0.35)
    bed = torch.where(some(0.25), bed + _of_rms_one_file(other), bed)
    bed = torch.where(some(0.2), _colored(count, total, device), bed)
    bed = torch.where(some(0.5), _tinted(bed), bed)
    talk, _ = banks["chatter"].draw(count, total, apart=apart, looped=True)
    talk2, _ = banks["chatter"].draw(count, total, apart=apart, looped=True)
    talk3, _ = banks["chatter"].draw(count, total, apart=apart, looped=True)
    several = _of_rms_one_file(talk) + some(0.7) * (
        _of_rms_one_file(talk2) + some(0.7) * _of_rms_one_file(talk3)
    )
    bed = bed + some(0.3) * several * 10 ** (uniform(-12, 4) / 20)
    swell = 10 ** (-_swelling(count, total, device) / 20)
    bed = torch.where(some(0.25), bed * swell, bed)
    bed = bed / (bed.pow(2).mean(1, keepdim=True).sqrt() + 1e-6)
    below_db = torch.where(some(0.5), uniform(6, 22), uniform(10, 45))
    sound = bed * voice * 10 ** (-below_db / 20)
    # A machine that starts and keeps running.
    step_at = (uniform(0.2, 0.9) * FRAMES).long() * HOP + learn * HOP
    at = torch.arange(total, device=device)[None]
    starts = some(0.06)
    louder = torch.where(starts & (at >= step_at), 10 ** (uniform(6, 25) / 20), 1.0)
    sound = sound * louder.clamp(max=30)
    sound = sound + torch.randn_like(sound) * voice * (
        _ROOM_RMS / _VOICE_RMS * 10 ** (uniform(-12, 10) / 20)
    )
    # --- the mark
    onset = learn * HOP + (uniform(0.3, 0.72) * FRAMES * HOP).long()
    length = round(1.0 * RATE)
    word, _ = banks["words"].draw(count, length, apart=apart, looped=False)
    word = torch.where(some(0.3), _tinted(word), word) * (32768 / _VOICE_RMS)
    # The recording's own noise came with it, and begins where it was cut.
    own_db = uniform(32, 60)
    hiss = torch.where(some(0.5), _colored(count, length, device), torch.randn_like(word))
    fade = (torch.arange(length, device=device)[None] / 160).clamp(0, 1) ** 2
    loudest = word.abs().amax(1, keepdim=True)
    word = word + some(0.6) * (word != 0) * fade * hiss * loudest * 10 ** (-own_db / 20)
    word, start = _at_another_speed(word, 160)
    kind = torch.rand(count, 1, device=device)
    mark = torch.where(kind < 0.65, word, _taps(count, length, device))
    mark = torch.where(kind > 0.88, _buzzes(count, length, device), mark)
    start = torch.where(kind < 0.65, start, 0)
    mark = mark * voice * 10 ** (torch.randn(count, 1, device=device) * 3 / 20)
    told = some(0.75)
    softer = told & some(0.25)  # share of examples without a mark
    real = some(0.65)
    gain = torch.where(real, 1.0, torch.where(softer, 10 ** (-uniform(13, 26) / 20), 0.0))
    sound = sound + gain * _placed(mark, onset - start, total)
    # A faint response of the room.
    echo = (uniform(0.003, 0.05) * RATE).long()
    echoes = some(0.4) * uniform(0, 0.4)
    sound = sound + gain * echoes * _placed(mark, onset - start + echo, total)
    # Another, softer sound: a cup, a step, a word from farther away.
    for share in (0.35, 0.15):
        other = torch.where(some(0.6), _taps(count, length, device), word.roll(1, 0))
        other = other * voice * 10 ** (-uniform(9, 30) / 20)
        beside = onset + (uniform(-0.7, 0.7) * RATE).long()
        sound = sound + (some(share) & (real | told)) * _placed(other, beside, total)
    sound = (sound * 32768).round().clamp(-32768, 32767) / 32768
    features = features_of(sound, learn, voice, told)
    label = torch.round((onset[:, 0] - WINDOW / 2) / HOP).long() - learn
    return features, torch.where(real[:, 0], label, FRAMES)


def features_of(sound: Tensor, learn: int, voice: Tensor, told: Tensor) -> Tensor:
    """Computes the net's features: each band over the noise of the first ``learn`` frames, in log.

    The other channels are the fluctuation of the noise in each band, the level above the voice's if
    known, and whether it is known.
    """
    powers = powers_of(sound)
    before = powers[:, :learn]
    first = int(torch.randint(0, learn - 100, (1,)))
    before = before[:, first:]
    noise = before.median(1, keepdim=True).values / math.log(2)
    usual = torch.quantile(before[:, ::2], 0.95, dim=1, keepdim=True)
    after = powers[:, learn:]
    ratios = (after / noise).log().clamp(-4, 12) / 4
    spread = (usual / noise).log().clamp(0, 8).expand_as(ratios) / 4
    level = after.mean(2, keepdim=True)
    over = torch.where(told[:, :, None], (level / voice[:, :, None] ** 2 + 1e-5).log() / 4, 0.0)
    flag = told[:, :, None].float().expand_as(over)
    return torch.cat((ratios, spread, over, flag), 2).transpose(1, 2)


def powers_of(sound: Tensor) -> Tensor:
    """Mean power in each band, (batch, frames, bands)."""
    taper = torch.hann_window(WINDOW + 2, periodic=False, dtype=sound.dtype, device=sound.device)
    taper = taper[1:-1]
    frames = sound.unfold(1, WINDOW, HOP) * taper
    spectrum = torch.fft.rfft(frames).abs().pow(2) / taper.pow(2).sum()
    bands = [spectrum[:, :, low:high].mean(2) for low, high in itertools.pairwise(EDGES)]
    return torch.stack(bands, 2) + _LEAST_POWER


def _of_rms_one_file(sound: Tensor) -> Tensor:
    # The files of the bank have the same RMS, each as a whole.
    return sound * (32768 / _VOICE_RMS)


def _taps(count: int, length: int, device: str) -> Tensor:
    """Taps like those of tools on a frame, fingers, or the tongue; the RMS of the first 20 ms is
    one.
    """
    at_s = torch.arange(length, device=device)[None] / RATE
    sound = torch.zeros(count, length, device=device)
    for nth in range(6):
        hertz = 300 * (20 ** torch.rand(count, 1, device=device))
        turn = 2 * math.pi * torch.rand(count, 1, device=device)
        decay = 0.003 * (12 ** torch.rand(count, 1, device=device))
        there = torch.rand(count, 1, device=device) < (1.0 if nth < 2 else 0.6)
        size = 0.2 + 0.8 * torch.rand(count, 1, device=device)
        tone = torch.sin(2 * math.pi * hertz * at_s + turn)
        sound += there * size * tone * torch.exp(-at_s / decay)
    burst = 0.001 * (10 ** torch.rand(count, 1, device=device))
    share = torch.rand(count, 1, device=device) * (torch.rand(count, 1, device=device) < 0.5)
    sound += share * 2 * torch.randn_like(sound) * torch.exp(-at_s / burst)
    return sound / (sound[:, :320].pow(2).mean(1, keepdim=True).sqrt() + 1e-6)


def _buzzes(count: int, length: int, device: str) -> Tensor:
    """Artificial words: perhaps a hiss, perhaps a gap, then a buzz at a voice's pitch; RMS one."""

    def uniform(low: float, high: float) -> Tensor:
        return low + (high - low) * torch.rand(count, 1, device=device)

    at_s = torch.arange(length, device=device)[None] / RATE
    hiss_s = uniform(0.03, 0.15) * (torch.rand(count, 1, device=device) < 0.7)
    gap_s = uniform(0, 0.07) * (torch.rand(count, 1, device=device) < 0.4) * (hiss_s > 0)
    sounds_s = uniform(0.1, 0.35)
    hiss = _tinted(torch.randn(count, length + 1, device=device).diff(dim=1))
    hiss = hiss * (at_s < hiss_s) * 10 ** (-uniform(3, 22) / 20)
    since_s = at_s - hiss_s - gap_s
    share = (since_s / sounds_s).clamp(0, 1)
    rise_s = uniform(0.002, 0.03)
    shape = (since_s / rise_s).clamp(0, 1) * (1 - share).pow(uniform(0.3, 1.5))
    pitch = uniform(85, 260) * (1 + uniform(-0.2, 0.2) * share)
    turns = torch.cumsum(pitch, 1) / RATE
    buzz = sum(torch.sin(2 * math.pi * nth * turns) / nth for nth in range(1, 25))
    buzz = _tinted(buzz * (since_s >= 0)) * shape
    buzz = buzz / (
        buzz.pow(2).mean(1, keepdim=True).sqrt() * math.sqrt(length / RATE / 0.25) + 1e-6
    )
    return hiss + buzz


def _at_another_speed(sound: Tensor, start: int, most: float = 0.15) -> tuple[Tensor, Tensor]:
    """Changes speed and pitch of half of the sounds; also returns the new starts.

    A sound that becomes too short is repeated.
    """
    count, samples = sound.shape
    speed = 1 + 2 * most * (torch.rand(count, 1, device=sound.device) - 0.5)
    speed = torch.where(torch.rand_like(speed) < 0.5, speed, 1.0)
    at = torch.arange(samples, device=sound.device)[None] * speed
    low = at.floor().long() % (samples - 1)
    part = at - at.floor()
    moved = sound.gather(1, low) * (1 - part) + sound.gather(1, low + 1) * part
    return moved, torch.round(start / speed).long()


def _placed(sound: Tensor, begin: Tensor, total: int) -> Tensor:
    """Places sounds (count, length) in silence (count, total), each at its own sample."""
    at = torch.arange(total, device=sound.device)[None] - begin
    inside = (at >= 0) & (at < sound.shape[1])
    return inside * sound.gather(1, at.clamp(0, sound.shape[1] - 1))


def _colored(count: int, samples: int, device: str) -> Tensor:
    spectrum = torch.fft.rfft(torch.randn(count, samples, device=device))
    lines = torch.arange(1, spectrum.shape[1] + 1, device=device)[None].float()
    made = torch.fft.irfft(spectrum / lines ** (torch.rand(count, 1, device=device) * 1.1), samples)
    return made / (made.pow(2).mean(1, keepdim=True).sqrt() + 1e-9)


def _tinted(sound: Tensor) -> Tensor:
    count, samples = sound.shape
    spectrum = torch.fft.rfft(sound)
    bumps = torch.randn(count, 1, 10, device=sound.device) * 5
    tint = functional.interpolate(bumps, spectrum.shape[1], mode="linear", align_corners=True)
    return torch.fft.irfft(spectrum * 10 ** (tint[:, 0] / 20), samples)


def _swelling(count: int, samples: int, device: str) -> Tensor:
    turns = torch.rand(count, 1, 2 + samples // 4000, device=device) * 20
    return functional.interpolate(turns, samples, mode="linear", align_corners=True)[:, 0]
