"""Makes batches of training sound with variations of speed, room, microphone, noise, babble, level
and clipping.

All of it runs on the training device, for a whole batch at once.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass

import torch
from scipy.fft import next_fast_len
from torch import Tensor
from torch.nn import functional

from handsfree.audio.levels import LEVEL_FRAME, LOUD_RMS, LOUD_SHARE
from handsfree.training.batch_plans import Plan, plans
from handsfree.training.features import SHIFT, WINDOW, Mfcc
from handsfree.training.network import LEFT, RIGHT
from handsfree.training.noise_generator import (
    at_one_level,
    colored,
    humming,
    knocking,
    swelling,
    tinted,
)
from handsfree.training.robot_voices import RATE_HZ
from handsfree.training.sound_bank import Bank, sent

WARPS = (0.82, 0.86, 0.90, 0.94, 0.97, 1.0, 1.03, 1.06, 1.10, 1.14, 1.18, 1.22)
"""Vocal tract factors: the formants of a deeper or lighter voice than the speaker's."""

_LONGEST_S = 9.0
_ECHO_S = 0.6
_NOISE_DB = (-3.0, 25.0)
_NOISIER = 1.25
"""Exponent above 1, so that small distances between voice and noise are drawn more often."""
# People nearby are quieter than the speaker: at equal level nobody could say who is meant.
_BABBLE_QUIETER_DB = 4.0
_TWO_NOISES = 0.5
_KINDS = {
    "real": (0.0, 0.33),
    "colored": (0.33, 0.45),
    "humming": (0.45, 0.53),
    "knocking": (0.53, 0.58),
    "babble": (0.58, 0.85),
}
"""Ranges of a shuffled batch that get each kind of noise; the rest gets none."""
_PAD_S = 0.5
_FADE = 80
"""Length of the fades at the ends of a piece (samples), because some are cut out of a sentence."""
# Only a few lengths, because the device plans a new Fourier transform for each shape.
_LENGTH_STEP_S = 0.3
_JITTER_DB = 4.0


@dataclass(frozen=True)
class Batch:
    """Features with context (batch, time, 40), frame counts, and two pronunciations of each
    utterance.

    The frame counts stay on the host, which needs them to size the loss.
    """

    features: Tensor
    frames: Tensor
    ways: list[list[tuple[int, ...]]]


class Batches:
    """Builds batches from plans and augments their sound.

    Separate processes can do the planning, so that the training process only has to serve the
    device.
    """

    def __init__(self, bank: Bank, size: int, processes: int = 0) -> None:
        self.bank = bank
        self.mfcc = Mfcc(bank.sound.device, WARPS)
        self._plans = plans(bank, size, processes)

    def draw(self) -> Batch:
        """Returns a batch of utterances of similar length."""
        plan = next(self._plans)
        sound, lengths = self._laid_out(plan)
        sound, power = self._in_a_room(sound)
        sound = self._in_noise(sound, power, lengths)
        frames = (lengths - WINDOW) // SHIFT + 1
        return Batch(self._features(sound, frames), frames, plan.ways)

    def _laid_out(self, plan: Plan) -> tuple[Tensor, Tensor]:
        """The pieces at their speeds with pauses around them (batch, time), and their lengths."""
        step = round(_LENGTH_STEP_S * RATE_HZ)
        samples = round(min(math.ceil(plan.lengths.max() / step) * step, _LONGEST_S * RATE_HZ))
        device = self.bank.sound.device
        time = torch.arange(samples, device=device, dtype=torch.float64)[None]
        sound = torch.zeros(len(plan.lengths), samples, device=device)
        for rows in plan.rows:
            placed = sent(torch.from_numpy(rows), device)
            start, length, offset, speed, loud = placed.T[..., None]
            since = time - offset
            place = since.clamp_min(0).minimum(length.clamp_min(0)) * speed
            ends = (torch.minimum(since, length - since) / _FADE).clamp(0, 1)
            heard = self._between(start + place) * (loud * ends).float()
            sound[: len(rows)] += torch.where((since >= 0) & (since < length), heard, 0.0)
        return sound, torch.from_numpy(plan.lengths).clamp_max(samples)

    def _between(self, position: Tensor) -> Tensor:
        whole = position.long()
        share = (position - whole).float()
        after = (whole + 1).clamp_max(len(self.bank.sound) - 1)
        return self.bank.sound[whole].float() * (1 - share) + self.bank.sound[after] * share

    def _in_a_room(self, sound: Tensor) -> tuple[Tensor, Tensor]:
        """Adds echo, the color of a microphone, and sometimes a band limit; also returns the
        voice's power.
        """
        size, samples = sound.shape
        device = sound.device

        def uniform(*shape: int) -> Tensor:
            return torch.rand(*shape, device=device)

        late = round(_ECHO_S * RATE_HZ)
        points = next_fast_len(samples + late, real=True)
        decay_s = uniform(size, 1) * 0.6 + 0.08
        decay = torch.exp(-6.9 * torch.arange(late, device=device)[None] / RATE_HZ / decay_s)
        echo = torch.randn(size, late, device=device) * decay
        echo[:, :40] = 0
        direct_to_echo = 10 ** ((uniform(size, 1) * 18 - 4) / 20)
        echo = echo / (echo.norm(dim=1, keepdim=True) + 1e-9) / direct_to_echo
        echo = torch.where(uniform(size, 1) < 0.45, echo, 0.0)
        echo[:, 0] = 1.0
        lines = points // 2 + 1
        hertz = torch.linspace(0, RATE_HZ / 2, lines, device=device)[None]
        bumps = torch.randn(size, 1, 8, device=device) * 4 * (uniform(size, 1, 1) < 0.6)
        color_db = functional.interpolate(bumps, lines, mode="linear", align_corners=True)[:, 0]
        color_db = color_db + (uniform(size, 1) - 0.5) * 16 * (hertz / RATE_HZ * 2 - 0.5)
        narrow = (uniform(size, 1) < 0.15) & (hertz > uniform(size, 1) * 3500 + 3300)
        thin = (uniform(size, 1) < 0.3) & (hertz < uniform(size, 1) * 350)
        color_db = color_db - 35 * narrow - 20 * thin
        shaped = torch.fft.rfft(sound, points) * torch.fft.rfft(echo, points)
        sound = torch.fft.irfft(shaped * 10 ** (color_db / 20), points)[:, :samples]
        voiced = sound.abs() > 0.01 * sound.abs().amax(1, keepdim=True)
        return sound, (sound**2 * voiced).sum(1) / voiced.sum(1).clamp_min(1)

    def _in_noise(self, sound: Tensor, power: Tensor, lengths: Tensor) -> Tensor:
        """Adds noise of one kind, then clipping, the recognizer's level, and hiss."""
        size, samples = sound.shape
        device = sound.device
        low, high = _NOISE_DB
        below_db = torch.rand(size, 1, device=device) ** _NOISIER * (high - low) + low
        noise = torch.zeros_like(sound)
        shuffled = random.sample(range(size), size)
        for kind, (first, last) in _KINDS.items():
            numbers = shuffled[round(first * size) : round(last * size)]
            if not numbers:
                continue
            rows = sent(torch.tensor(numbers), device)
            noise[rows] = self._noise(kind, len(rows), sound)
            if kind == "babble":
                below_db[rows] += _BABBLE_QUIETER_DB
        noise = at_one_level(noise)
        sound = sound + noise * (power[:, None] * 10 ** (-below_db / 10)).sqrt()
        sound = sound / (power[:, None].sqrt() + 1e-6)
        # Clips only the loudest samples: a peak is about four times the root mean square.
        most = torch.rand(size, 1, device=device) * 7 + 2.5
        sound = sound.clamp(-most, most)
        # The surroundings of an utterance that was cut out are nearly silent.
        time = torch.arange(samples, device=device)[None]
        cut = torch.rand(2, size, 1, device=device) * _PAD_S * RATE_HZ
        cut = cut * (torch.rand(1, size, 1, device=device) < 0.5)
        sound = sound * ((time >= cut[0]) & (time < sent(lengths, device)[:, None] - cut[1]))
        jitter_db = (torch.rand(size, 1, device=device) * 2 - 1) * _JITTER_DB
        sound = leveled(sound) * 10 ** (jitter_db / 20)
        hiss = 10 ** (torch.rand(size, 1, device=device) * 2.0 - 1.0)
        return (sound + torch.randn_like(sound) * hiss).clamp(-32768, 32767).round()

    def _noise(self, kind: str, size: int, sound: Tensor) -> Tensor:
        if kind == "babble":
            return self._babble(sound, size)
        samples = sound.shape[1]
        if kind == "humming":
            return tinted(humming(size, samples, sound.device))
        if kind == "knocking":
            return tinted(knocking(size, samples, sound.device))
        if kind == "colored" or not self.bank.noises:
            return swelling(colored(size, samples, sound.device))
        one, two = (at_one_level(self._from(self.bank.noises, size, samples)) for _ in range(2))
        second = torch.rand(size, 1, device=one.device)
        return tinted(one + two * second * (torch.rand_like(second) < _TWO_NOISES))

    def _from(self, places: list[tuple[int, int]], size: int, samples: int) -> Tensor:
        """Stretches of recordings, each at its own speed, repeated if too short."""
        device = self.bank.sound.device
        drawn = torch.tensor(random.choices(places, k=size), dtype=torch.float64)
        start, length = sent(drawn, device).T[..., None]
        time = torch.arange(samples, device=device, dtype=torch.float64)[None]
        faster = torch.rand(size, 1, device=device, dtype=torch.float64) * 0.33 + 0.85
        offset = torch.rand(size, 1, device=device, dtype=torch.float64) * length
        return self._between(start + torch.remainder((time + offset) * faster, length - 2))

    @staticmethod
    def _babble(sound: Tensor, size: int) -> Tensor:
        """One or several other utterances of the batch at once."""
        level = sound / (sound.norm(dim=1, keepdim=True) + 1e-6)
        babble = torch.zeros(size, sound.shape[1], device=sound.device)
        for _ in range(random.choice((1, 1, 2, 3, 4, 6))):
            others = torch.randint(len(sound), (size,), device=sound.device)
            babble += torch.roll(level[others], random.randrange(sound.shape[1]), 1)
        return babble

    def _features(self, sound: Tensor, frames: Tensor) -> Tensor:
        """MFCC through a random vocal tract, parts masked, the edges repeated for context."""
        log_mel = self.mfcc.log_mel(sound, warp=True)
        size, count, bands = log_mel.shape
        hidden = _stripe(size, bands, 7, 0.25, log_mel.device)[:, None, :]
        for _ in range(2):
            hidden = hidden | _stripe(size, count, 9, 0.3, log_mel.device)[:, :, None]
        log_mel = torch.where(hidden, log_mel.mean((1, 2), keepdim=True), log_mel)
        features = self.mfcc.cepstrum(log_mel)
        place = torch.arange(-LEFT, count + RIGHT, device=sound.device)[None]
        place = torch.minimum(place.clamp_min(0), sent(frames, sound.device)[:, None] - 1)
        return torch.gather(features, 1, place[..., None].expand(-1, -1, bands))


def leveled(sound: Tensor) -> Tensor:
    """Scales sound (batch, time) to the recognizer's level; see audio/levels.py."""
    frames = sound.unfold(1, LEVEL_FRAME, LEVEL_FRAME)
    loud = frames.pow(2).mean(-1).quantile(LOUD_SHARE, dim=1, keepdim=True)
    return sound * (LOUD_RMS / (loud.sqrt() + 1e-6))


def _stripe(size: int, length: int, widest: int, share: float, device: torch.device) -> Tensor:
    """Boolean mask (size, length) that is true in one stretch of some rows."""
    first = torch.randint(length, (size, 1), device=device)
    width = torch.randint(1, widest, (size, 1), device=device)
    place = torch.arange(length, device=device)[None]
    used = torch.rand(size, 1, device=device) < share
    return used & (place >= first) & (place < first + width)
