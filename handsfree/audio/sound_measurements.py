"""Measurements of a stretch of sound: levels, clipping, mains hum, digital silence."""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import NDArray

from handsfree.audio.levels import LEVEL_FRAME
from handsfree.job.record import Record
from handsfree.sample_rate import SAMPLE_RATE_HZ

SILENT_DB = -120.0
"""Level reported for digital silence (dB relative to full scale)."""
FULL_SCALE = 32768.0

# Measured on 150 human utterances. Undistorted: 0 runs of three or more samples near the peak, 1 at
# the 95th percentile. The same utterances clipped at half their height: 36 runs, 8 at the 5th
# percentile, and as many after conversion to a device's rate and back.
_NEAR_PEAK, _RUN, _RUNS = 0.97, 3, 5
_LEAST_PEAK = 0.03  # peaks softer than this are not clipping
_HUM_LINES, _HUM_WIDTH_HZ, _HUM_LEAST_S = 8, 2.5, 1.0
_HUM_BELOW_HZ = 1000.0


class SoundMeasurement(Record):
    """Measurements of one stretch of mono sound at 16 kHz. Levels are in dB relative to full scale.

    ``floor_db`` is the level of the quietest tenth of its 20 ms frames without their offset,
    ``loud_db`` of the loudest tenth, ``peak_db`` of the highest sample. ``zero_share`` is the share
    of samples that are exactly 0. ``clipped`` means that its peaks are cut off, at full scale or
    below. ``hum_hz`` is 50 or 60 if the mains harmonics hold more than half of the power below 1
    kHz; it means something only for sound without speech.
    """

    seconds: float
    peak_db: float
    loud_db: float
    floor_db: float
    zero_share: float
    clipped: bool
    hum_hz: Literal[50, 60] | None

    @property
    def silent(self) -> bool:
        """True if there is nothing but zeros."""
        return self.zero_share == 1.0


def measure(samples: NDArray[np.int16]) -> SoundMeasurement:
    """Measures sound of any length (mono, 16 kHz)."""
    peak = int(np.abs(samples.astype(np.int32)).max()) if len(samples) else 0
    power = _frame_power(samples)
    tenth = max(1, len(power) // 10)
    return SoundMeasurement(
        seconds=round(len(samples) / SAMPLE_RATE_HZ, 3),
        peak_db=_db((peak / FULL_SCALE) ** 2),
        loud_db=_db(float(power[-tenth:].mean())),
        floor_db=_db(float(power[:tenth].mean())),
        zero_share=1.0 if not len(samples) else float(np.mean(samples == 0)),
        clipped=clipped(samples),
        hum_hz=hum_hz(samples),
    )


def clipped(samples: NDArray[np.int16]) -> bool:
    """True if the peaks are cut off: the sound stays at its own peak several times."""
    height = np.abs(samples.astype(np.int32))
    peak = int(height.max()) if len(height) else 0
    if peak < _LEAST_PEAK * FULL_SCALE:
        return False
    near = np.concatenate(([0], (height >= _NEAR_PEAK * peak).astype(np.int8), [0]))
    edges = np.diff(near)
    lengths = np.flatnonzero(edges == -1) - np.flatnonzero(edges == 1)
    return int(np.count_nonzero(lengths >= _RUN)) >= _RUNS


def hum_hz(samples: NDArray[np.int16]) -> Literal[50, 60] | None:
    """Mains frequency whose harmonics hold more than half of the power below 1 kHz, or None."""
    if len(samples) < _HUM_LEAST_S * SAMPLE_RATE_HZ or not samples.any():
        return None
    sound = samples.astype(np.float64)
    power = np.abs(np.fft.rfft((sound - sound.mean()) * np.hanning(len(sound)))) ** 2
    at_hz = np.fft.rfftfreq(len(sound), 1 / SAMPLE_RATE_HZ)
    low = (at_hz > 30) & (at_hz < _HUM_BELOW_HZ)
    whole = float(power[low].sum())
    if whole <= 0:
        return None
    shares: dict[Literal[50, 60], float] = {}
    mains: tuple[Literal[50, 60], ...] = (50, 60)
    for base in mains:
        lines = [base * nth for nth in range(1, _HUM_LINES + 1)]
        near = np.min(np.abs(at_hz[:, None] - np.array(lines)[None, :]), axis=1)
        shares[base] = float(power[low & (near <= _HUM_WIDTH_HZ)].sum()) / whole
    best = max(mains, key=lambda base: shares[base])
    return best if shares[best] > 0.5 else None


def _frame_power(samples: NDArray[np.int16]) -> NDArray[np.float64]:
    """Power of every 20 ms frame without its offset, lowest first; full scale is 1."""
    usable = len(samples) // LEVEL_FRAME * LEVEL_FRAME
    if not usable:
        return np.zeros(1)
    frames = samples[:usable].astype(np.float64).reshape(-1, LEVEL_FRAME) / FULL_SCALE
    return np.sort(frames.var(axis=1))


def _db(power: float) -> float:
    return SILENT_DB if power <= 0 else round(max(SILENT_DB, 10 * float(np.log10(power))), 1)
