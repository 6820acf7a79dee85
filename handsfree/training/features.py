"""Computes 40 MFCC as Kaldi does with conf/mfcc.conf, for a batch on any device."""

from __future__ import annotations

import math

import numpy as np
import torch
from torch import Tensor

DIM = 40
RATE_HZ, WINDOW, SHIFT, FFT = 16_000, 400, 160, 512
_LOW_HZ, _HIGH_HZ, _LIFTER = 20.0, 7600.0, 22.0
_FLOOR = 1.1920929e-07


def _mel(hz: float) -> float:
    return 1127.0 * math.log(1.0 + hz / 700.0)


def mel_filters(warp: float = 1.0) -> Tensor:
    """Triangles on the mel scale (40 by 257); ``warp`` shortens or lengthens the vocal tract."""
    low, step = _mel(_LOW_HZ), (_mel(_HIGH_HZ) - _mel(_LOW_HZ)) / (DIM + 1)
    filters = np.zeros((DIM, FFT // 2 + 1), np.float32)
    for band in range(DIM):
        left, middle, right = (low + (band + k) * step for k in range(3))
        for line in range(FFT // 2):
            mel = _mel(_warped(line * RATE_HZ / FFT, warp))
            if left < mel < right:
                up, down = (mel - left) / (middle - left), (right - mel) / (right - middle)
                filters[band, line] = up if mel <= middle else down
    return torch.from_numpy(filters)


def _warped(hz: float, warp: float) -> float:
    """Piecewise linear, so that 8 kHz stays where it is."""
    if warp == 1.0 or hz * warp < 6800.0:
        return hz * warp
    return 6800.0 + (hz - 6800.0 / warp) * 1200.0 / (8000.0 - 6800.0 / warp)


class Mfcc:
    """Samples (batch, time) in 16-bit scale to features (batch, frames, 40)."""

    def __init__(self, device: torch.device | str = "cpu", warps: tuple[float, ...] = ()) -> None:
        self._plain = mel_filters().to(device)
        self._warped = torch.stack([mel_filters(w) for w in warps]).to(device) if warps else None
        n = np.arange(DIM)
        transform = np.sqrt(2 / DIM) * np.cos(np.pi / DIM * np.outer(n, n + 0.5))
        transform[0] = np.sqrt(1 / DIM)
        lifter = 1 + 0.5 * _LIFTER * np.sin(np.pi * n / _LIFTER)
        cepstrum = (transform * lifter[:, None]).T
        self._cepstrum = torch.tensor(cepstrum, dtype=torch.float32).to(device)
        window = (0.5 - 0.5 * np.cos(2 * np.pi * np.arange(WINDOW) / (WINDOW - 1))) ** 0.85
        self._window = torch.tensor(window, dtype=torch.float32).to(device)

    def log_mel(self, samples: Tensor, *, warp: bool = False) -> Tensor:
        """Log filter bank energies, optionally with a separate filter bank for each utterance."""
        frames = samples.unfold(1, WINDOW, SHIFT)
        frames = frames - frames.mean(-1, keepdim=True)
        first, rest = frames[..., :1] * 0.03, frames[..., 1:] - 0.97 * frames[..., :-1]
        power = torch.fft.rfft(torch.cat([first, rest], -1) * self._window, FFT).abs() ** 2
        if warp and self._warped is not None:
            chosen = torch.randint(len(self._warped), (len(samples),), device=samples.device)
            mel = torch.bmm(power, self._warped[chosen].transpose(1, 2))
        else:
            mel = power @ self._plain.T
        return torch.log(mel.clamp_min(_FLOOR))

    def __call__(self, samples: Tensor) -> Tensor:
        """The features."""
        return self.log_mel(samples) @ self._cepstrum

    def cepstrum(self, log_mel: Tensor) -> Tensor:
        """The features from log energies that were changed in between."""
        return log_mel @ self._cepstrum
