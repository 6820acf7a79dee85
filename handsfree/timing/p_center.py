"""Where the beat of a sound falls: the moment at which it is heard, and meant, to happen.

Who says 'shut' when a leaf shuts does not begin the 'sh' then: the vowel falls on the event. So
equal times between the first sounds of different words are neither heard nor said as equal
(Morton, Marcus and Frankish, Psychological Review 83, 405, 1976: seen; Fowler, Perception and
Psychophysics 25, 375, 1979: abstract seen, volume from memory). The beat lies close to where the
vowel begins, and is commonly taken where the power between hum and hiss rises (after Scott, 1993:
seen as told by others). How far up the rise is our own choice. A tap has its beat where it is
struck.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from handsfree.sample_rate import SAMPLE_RATE_HZ
from handsfree.timing.noise_floor import EDGES, HOP, WINDOW, Floats, band_powers
from handsfree.timing.tap_detection import struck_in

VOWELS_HZ = (400, 2000)
"""Where vowels lie, little hum and little hiss."""
RISE_DB = (4, 12)
"""The beat is the mean of the moments at which the power first comes so near to its loudest, from
the one to the other in whole dB. One level alone would jump where a sound rises in two steps."""
BEFORE_S, AHEAD_S = 0.05, 0.5
"""About its start, as far as it is looked at: no further mark lies nearer."""
WITHIN_S = 0.25
"""Its loudest is sought so far from where its power is first within the lowest level of the loudest
of all: in the first vowel, whatever follows, and not in a breath or a long hiss before it."""
BRIDGED_S = 0.12
"""Of less power within one sound: before the p of 'open', for instance."""
MARGIN_S = 0.03
"""Of sound beyond that to both sides, for the filter."""
LEAST_S = 0.005
"""How far a filter of the same band with other slopes puts it elsewhere (SD of 180 words)."""
STRUCK_S = 0.003

_LEVELS = 10 ** (-np.arange(RISE_DB[0], RISE_DB[1] + 1) / 10)
_LOOSE = 10**0.1 - 1  # 1 dB
_SEEN, _SILENT = 0.03, 1e-9  # shares of amplitude and of power
_EVEN = np.hanning(386)[1:-1] / np.hanning(386).sum()  # 24 ms: no single periods of a voice


def _response(hertz: Floats) -> Floats:
    """Of amplitudes: a Butterworth band-pass of the third order, there and back."""
    low, high = VOWELS_HZ
    hertz = np.maximum(hertz, 1.0)
    return 1 / (1 + ((hertz**2 - low * high) / (hertz * (high - low))) ** 6)


_SHARES = np.add.reduceat(
    _response(np.arange(EDGES[-1]) * SAMPLE_RATE_HZ / WINDOW) ** 2, EDGES[:-1]
) / (WINDOW / 2)


@dataclass(frozen=True)
class Beat:
    """``sample`` of the sound that was given, and its standard uncertainty.

    ``struck``: it is a tap, and its first sample can be sought about there.
    """

    sample: int
    uncertainty_s: float
    struck: bool = False


def beat_of(sound: Floats, starts: tuple[int, int], noise: Floats, usual: Floats) -> Beat:
    """The beat of one sound (16 kHz) that starts about one sample of it or another, or between.

    BEFORE_S and MARGIN_S of sound before the first are wanted, AHEAD_S and MARGIN_S after the
    last. ``noise`` is the mean power of each band in the noise, ``usual`` what it seldom passes.
    """
    first, last = starts
    for start in starts:
        powers = band_powers(sound[: start + round(WITHIN_S * SAMPLE_RATE_HZ)])
        row = max(0, round((start - WINDOW / 2) / HOP))
        if (tap := struck_in(powers, row, noise, usual)) is not None:
            return Beat(tap * HOP + WINDOW // 2, STRUCK_S, struck=True)
    low = max(0, first - round(BEFORE_S * SAMPLE_RATE_HZ))
    until = last + round(AHEAD_S * SAMPLE_RATE_HZ)
    power = _of_vowels(sound)[low:until] - _in_band(noise)
    vowel = int(np.argmax(power >= power.max() * _LEVELS[-1]))
    power = power[: max(vowel, last - low) + round(WITHIN_S * SAMPLE_RATE_HZ)]
    if power.max() <= 0:
        # Nothing of it lies among the vowels: a long hiss, whose start is known so well.
        return Beat(last, BEFORE_S / 1.96)
    levels = float(power.max()) * _LEVELS
    # A noise adds to the sound or takes away from it, so a level is reached sooner or later; and
    # where the loudest is has some say too.
    off = 2 * np.sqrt(levels * _in_band(usual)) + _LOOSE * levels
    early, beat, late = (
        float(np.mean([_risen(power, level) for level in each]))
        for each in (np.maximum(levels - off, levels / 10), levels, levels + off)
    )
    return Beat(low + round(beat), max(LEAST_S, (late - early) / 2 / SAMPLE_RATE_HZ / 1.96))


def beat_in(sound: Floats) -> int:
    """The sample of the beat of a word that was made and stands in silence."""
    margin = round((BEFORE_S + MARGIN_S) * SAMPLE_RATE_HZ)
    loud = np.abs(sound) >= _SEEN * np.abs(sound).max()
    silence = np.full(len(EDGES) - 1, float(np.mean(sound**2)) * _SILENT)
    start = int(np.argmax(loud)) + margin
    return beat_of(np.pad(sound, margin), (start, start), silence, silence).sample - margin


def _of_vowels(sound: Floats) -> Floats:
    """Its power in the band of the vowels, sample by sample, evened out."""
    hertz = np.asarray(np.fft.rfftfreq(len(sound), 1 / SAMPLE_RATE_HZ), dtype=np.float64)
    spectrum = np.fft.rfft(sound) * _response(hertz)
    return np.convolve(np.fft.irfft(spectrum, len(sound)) ** 2, _EVEN, mode="same")


def _in_band(powers: Floats) -> float:
    """What a noise of so much power in each band has in that of the vowels."""
    return float(powers @ _SHARES)


def _risen(power: Floats, level: float) -> int:
    """Where the power first reaches a level, back from its loudest over silences within a sound."""
    loudest = int(np.argmax(power))
    reached = np.append(np.flatnonzero(power[:loudest] >= level), loudest)
    apart = np.flatnonzero(np.diff(reached) > BRIDGED_S * SAMPLE_RATE_HZ)
    return int(reached[apart[-1] + 1] if len(apart) else reached[0])
