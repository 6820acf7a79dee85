"""Generates noise for the training: colored noise, swelling noise, machine hum, knocks."""

from __future__ import annotations

import math

import torch
from scipy.fft import next_fast_len
from torch import Tensor
from torch.nn import functional

RATE_HZ = 16_000
_HARMONICS = 16
_KNOCKS_PER_S = 2.5


def colored(size: int, samples: int, device: torch.device) -> Tensor:
    """Noise from white to brown (size, samples)."""
    points = next_fast_len(samples, real=True)
    white = torch.fft.rfft(torch.randn(size, points, device=device))
    lines = torch.arange(1, white.shape[1] + 1, device=device)[None].float()
    slope = torch.rand(size, 1, device=device) * 1.1
    return tinted(torch.fft.irfft(white / lines**slope, points)[:, :samples])


def tinted(noise: Tensor) -> Tensor:
    """Noise colored like other rooms and machines: bands up to 12 dB louder or quieter."""
    size, samples = noise.shape
    points = next_fast_len(samples, real=True)
    bumps = torch.randn(size, 1, 10, device=noise.device) * 5
    tint_db = functional.interpolate(bumps, points // 2 + 1, mode="linear", align_corners=True)
    spectrum = torch.fft.rfft(noise, points) * 10 ** (tint_db[:, 0] / 20)
    return torch.fft.irfft(spectrum, points)[:, :samples]


def swelling(noise: Tensor) -> Tensor:
    """Noise in which half of the rows swell by up to 20 dB, a few times a second or slower."""
    size, samples = noise.shape
    turns_db = torch.rand(size, 1, 2 + samples // 3000, device=noise.device) * -20
    gain_db = functional.interpolate(turns_db, samples, mode="linear", align_corners=True)[:, 0]
    swells = torch.rand(size, 1, device=noise.device) < 0.5
    return noise * 10 ** (torch.where(swells, gain_db, 0.0) / 20)


def humming(size: int, samples: int, device: torch.device) -> Tensor:
    """Machine noise (size, samples): a hum of many harmonics, some of them beating, over rumble."""

    def uniform(*shape: int) -> Tensor:
        return torch.rand(*shape, 1, device=device)

    time = torch.arange(samples, device=device) / RATE_HZ
    number = torch.arange(1, _HARMONICS + 1, device=device)[None, :, None]
    hertz = (uniform(size, 1) * 95 + 40) * number
    phase = uniform(size, _HARMONICS) * 2 * math.pi
    beating = torch.sin(2 * math.pi * uniform(size, _HARMONICS) * 6 * time + phase)
    level = uniform(size, _HARMONICS) * number ** (-0.2 - 1.2 * uniform(size, 1))
    level = level * (1 + uniform(size, _HARMONICS) * 0.5 * beating)
    hum = (level * torch.sin(2 * math.pi * hertz * time + phase)).sum(1)
    return at_one_level(hum) + 1.5 * uniform(size) * at_one_level(colored(size, samples, device))


def knocking(size: int, samples: int, device: torch.device) -> Tensor:
    """Knocks (size, samples), a few per second, that decay in 4 to 160 ms, over a hiss."""
    knocks = max(1, round(samples / RATE_HZ * _KNOCKS_PER_S))
    drawn = torch.rand(3, size, knocks, 1, device=device)
    since = torch.arange(samples, device=device) - drawn[0] * samples
    ringing = torch.exp(-since.clamp_min(0) / 10 ** (1.8 + 1.6 * drawn[1]))
    level = 0.03 + (drawn[2] ** 2 * ringing * (since >= 0)).sum(1)
    return at_one_level(colored(size, samples, device)) * level


def at_one_level(sound: Tensor) -> Tensor:
    """Scales each row to a root mean square of one."""
    return sound / (sound.pow(2).mean(1, keepdim=True).sqrt() + 1e-9)
