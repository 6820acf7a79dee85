"""Noise of the training: colored, as other machines have it, coming and going."""

from __future__ import annotations

import torch
from scipy.fft import next_fast_len
from torch import Tensor
from torch.nn import functional


def colored(size: int, samples: int, device: torch.device) -> Tensor:
    """From white to brown (size, samples)."""
    points = next_fast_len(samples, real=True)
    white = torch.fft.rfft(torch.randn(size, points, device=device))
    lines = torch.arange(1, white.shape[1] + 1, device=device)[None].float()
    slope = torch.rand(size, 1, device=device) * 1.1
    return tinted(torch.fft.irfft(white / lines**slope, points)[:, :samples])


def tinted(noise: Tensor) -> Tensor:
    """Noise as other rooms and machines have it: bands up to some 12 dB louder or quieter."""
    size, samples = noise.shape
    points = next_fast_len(samples, real=True)
    bumps = torch.randn(size, 1, 10, device=noise.device) * 5
    tint_db = functional.interpolate(bumps, points // 2 + 1, mode="linear", align_corners=True)
    spectrum = torch.fft.rfft(noise, points) * 10 ** (tint_db[:, 0] / 20)
    return torch.fft.irfft(spectrum, points)[:, :samples]


def swelling(noise: Tensor) -> Tensor:
    """Half of the rows come and go, up to 20 dB, some times a second or slower."""
    size, samples = noise.shape
    turns_db = torch.rand(size, 1, 2 + samples // 3000, device=noise.device) * -20
    gain_db = functional.interpolate(turns_db, samples, mode="linear", align_corners=True)[:, 0]
    swells = torch.rand(size, 1, device=noise.device) < 0.5
    return noise * 10 ** (torch.where(swells, gain_db, 0.0) / 20)


def at_one_level(sound: Tensor) -> Tensor:
    """Each row with a root mean square of one."""
    return sound / (sound.pow(2).mean(1, keepdim=True).sqrt() + 1e-9)
