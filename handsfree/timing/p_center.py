"""Finds the perceptual center (beat) of a sound: the moment at which it seems to happen.

A person who says 'shut' when a leaf shuts does not start the 'sh' at that moment: the vowel falls
on the event. Equal times between the first sounds of different words are neither heard nor spoken
as equal (Morton, Marcus and Frankish, Psychological Review 83, 405, 1976: seen; Fowler, Perception
and Psychophysics 25, 375, 1979: abstract seen, volume from memory). The beat is close to where the
vowel begins, and is commonly taken where the power between hum and hiss rises (after Scott, 1993:
seen as cited by others). The height on the rise is our own choice. The beat of a tap is its impact.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from handsfree.sample_rate import SAMPLE_RATE_HZ
from handsfree.timing.noise_floor import EDGES, HOP, WINDOW, Floats, band_powers
from handsfree.timing.tap_detection import impact_row

VOWELS_HZ = (400, 2000)
"""Band of the vowels (Hz), with little hum and little hiss."""
RISE_DB = (4, 12)
"""Levels below the peak (dB). The beat is the mean of the moments at which the power first reaches
each whole dB between them. A single level would jump if a sound rises in two steps.
"""
BEFORE_S, AHEAD_S = 0.05, 0.5
"""Span of sound examined before and after its start (s), in which no other mark can be."""
WITHIN_S = 0.25
"""Span in which the loudest part is sought, from where the power first reaches the lowest level
(s). This finds the first vowel instead of what follows, a breath, or a long hiss before it.
"""
BRIDGED_S = 0.12
"""Longest gap of lower power within one sound (s): before the p of 'open', for instance."""
MARGIN_S = 0.03
"""Extra sound on both sides for the filter (s)."""
LEAST_S = 0.005
"""Scatter between filters of this band with other slopes (s; SD of 180 words)."""
STRUCK_S = 0.003

_LEVELS = 10 ** (-np.arange(RISE_DB[0], RISE_DB[1] + 1) / 10)
_LOOSE = 10**0.1 - 1  # 1 dB
_SEEN, _SILENT = 0.03, 1e-9  # shares of amplitude and of power
_EVEN = np.hanning(386)[1:-1] / np.hanning(386).sum()  # 24 ms: hides the single periods of a voice


def _response(hertz: Floats) -> Floats:
    """Amplitude response of a third-order Butterworth band-pass applied forward and backward."""
    low, high = VOWELS_HZ
    hertz = np.maximum(hertz, 1.0)
    return 1 / (1 + ((hertz**2 - low * high) / (hertz * (high - low))) ** 6)


_SHARES = np.add.reduceat(
    _response(np.arange(EDGES[-1]) * SAMPLE_RATE_HZ / WINDOW) ** 2, EDGES[:-1]
) / (WINDOW / 2)


@dataclass(frozen=True)
class Beat:
    """The beat as a ``sample`` of the given sound, and its standard uncertainty.

    ``struck`` is true for a tap, whose first sample can be searched for nearby.
    """

    sample: int
    uncertainty_s: float
    struck: bool = False


def beat_of(sound: Floats, starts: tuple[int, int], noise: Floats, usual: Floats) -> Beat:
    """Finds the beat of one sound (16 kHz) that starts between or around two samples.

    Needs BEFORE_S and MARGIN_S of sound before the first, AHEAD_S and MARGIN_S after the last.
    ``noise`` is the mean power of each band in the noise, ``usual`` its usual maximum.
    """
    first, last = starts
    for start in starts:
        powers = band_powers(sound[: start + round(WITHIN_S * SAMPLE_RATE_HZ)])
        row = max(0, round((start - WINDOW / 2) / HOP))
        if (tap := impact_row(powers, row, noise, usual)) is not None:
            return Beat(tap * HOP + WINDOW // 2, STRUCK_S, struck=True)
    low = max(0, first - round(BEFORE_S * SAMPLE_RATE_HZ))
    until = last + round(AHEAD_S * SAMPLE_RATE_HZ)
    power = _of_vowels(sound)[low:until] - _in_band(noise)
    vowel = int(np.argmax(power >= power.max() * _LEVELS[-1]))
    power = power[: max(vowel, last - low) + round(WITHIN_S * SAMPLE_RATE_HZ)]
    if power.max() <= 0:
        # No part of it is in the vowel band: a long hiss, whose start is known only this well.
        return Beat(last, BEFORE_S / 1.96)
    levels = float(power.max()) * _LEVELS
    # Noise adds to the sound or subtracts from it, so a level is reached sooner or later. The
    # position of the loudest part has a small effect too.
    off = 2 * np.sqrt(levels * _in_band(usual)) + _LOOSE * levels
    early, beat, late = (
        float(np.mean([_risen(power, level) for level in each]))
        for each in (np.maximum(levels - off, levels / 10), levels, levels + off)
    )
    return Beat(low + round(beat), max(LEAST_S, (late - early) / 2 / SAMPLE_RATE_HZ / 1.96))


def beat_in(sound: Floats) -> int:
    """Sample of the beat of a synthesized word surrounded by silence."""
    margin = round((BEFORE_S + MARGIN_S) * SAMPLE_RATE_HZ)
    loud = np.abs(sound) >= _SEEN * np.abs(sound).max()
    silence = np.full(len(EDGES) - 1, float(np.mean(sound**2)) * _SILENT)
    start = int(np.argmax(loud)) + margin
    return beat_of(np.pad(sound, margin), (start, start), silence, silence).sample - margin


def _of_vowels(sound: Floats) -> Floats:
    """Smoothed power in the vowel band, sample by sample."""
    hertz = np.asarray(np.fft.rfftfreq(len(sound), 1 / SAMPLE_RATE_HZ), dtype=np.float64)
    spectrum = np.fft.rfft(sound) * _response(hertz)
    return np.convolve(np.fft.irfft(spectrum, len(sound)) ** 2, _EVEN, mode="same")


def _in_band(powers: Floats) -> float:
    """Power in the vowel band of noise with this power in each band."""
    return float(powers @ _SHARES)


def _risen(power: Floats, level: float) -> int:
    """First sample that reaches a level, searching backward from the loudest one across gaps."""
    loudest = int(np.argmax(power))
    reached = np.append(np.flatnonzero(power[:loudest] >= level), loudest)
    apart = np.flatnonzero(np.diff(reached) > BRIDGED_S * SAMPLE_RATE_HZ)
    return int(reached[apart[-1] + 1] if len(apart) else reached[0])
