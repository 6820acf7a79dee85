"""Detects the loudspeaker in the microphone's sound by correlation with what was played."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from handsfree.audio.sound_measurements import FULL_SCALE
from handsfree.job.record import Record
from handsfree.sample_rate import SAMPLE_RATE_HZ

LATEST_S = 1.5
"""Longest delay that counts as an echo (s); Bluetooth takes 0.3 s, a sound server 0.2 s."""
_BAND_HZ = (300.0, 3400.0)
# Required height of the best correlation, in standard deviations of all of them. Measured in eight
# noises, including people talking: noise alone stays below 14; an echo 20 dB below the noise
# reaches 14 to 118. Somebody talking may reach 90 through the pitch of the voice, but then other
# delays come close to it as well.
_CLEAR, _ALONE = 15.0, 1.8
_ROOM_S = 0.4  # a room's reflections arrive within this distance of the true delay


class Echo(Record):
    """Echo of a played phrase in the microphone's sound.

    ``heard`` tells whether there is one. ``delay_s`` counts from when the phrase was handed to the
    loudspeaker's stream. ``level_db`` is its level relative to full scale, fitted in the speech
    band. Both are None without one. ``clearness`` is the height of the correlation at the best
    delay, in standard deviations of the other delays.
    """

    heard: bool
    clearness: float
    delay_s: float | None = None
    level_db: float | None = None


def find_echo(played: NDArray[np.int16], recorded: NDArray[np.int16]) -> Echo:
    """Looks for ``played`` in ``recorded``, both mono at 16 kHz; the recording starts first.

    The recording should last at least LATEST_S longer than what was played.
    """
    if not played.any() or not recorded.any():
        return Echo(heard=False, clearness=0.0)
    ours, theirs = _in_band(played), _in_band(recorded)
    size = 1 << (len(ours) + len(theirs)).bit_length()
    cross = np.fft.rfft(theirs, size) * np.conj(np.fft.rfft(ours, size))
    # Half whitened: otherwise a voice's own pitch makes neighboring delays look alike.
    strength = np.abs(cross)
    like = np.abs(np.fft.irfft(cross / np.sqrt(strength + strength.mean() * 1e-3 + 1e-12), size))
    delays = like[: len(theirs)]
    best = int(np.argmax(delays[: round(LATEST_S * SAMPLE_RATE_HZ)]))
    room = round(_ROOM_S * SAMPLE_RATE_HZ)
    others = np.delete(delays, slice(max(0, best - room), best + room))
    usual = float(np.median(others)) / 0.6745 if len(others) else 0.0
    clearness = float(delays[best]) / usual if usual > 0 else 0.0
    alone = len(others) and delays[best] >= _ALONE * others.max()
    if clearness < _CLEAR or not alone:
        return Echo(heard=False, clearness=round(clearness, 1))
    part = theirs[best : best + len(ours)]
    ours = ours[: len(part)]
    share = float(np.dot(part, ours) / max(float(np.dot(ours, ours)), 1e-12))
    whole_rms = float(np.sqrt(np.mean(played.astype(np.float64) ** 2)))
    level = abs(share) * whole_rms / FULL_SCALE
    return Echo(
        heard=True,
        clearness=round(clearness, 1),
        delay_s=round(best / SAMPLE_RATE_HZ, 3),
        level_db=round(20 * float(np.log10(max(level, 1e-6))), 1),
    )


def _in_band(samples: NDArray[np.int16]) -> NDArray[np.float64]:
    """Keeps the speech band: below it lies hum, above it loudspeaker hiss."""
    sound = samples.astype(np.float64)
    spectrum = np.fft.rfft(sound)
    at_hz = np.fft.rfftfreq(len(sound), 1 / SAMPLE_RATE_HZ)
    spectrum[(at_hz < _BAND_HZ[0]) | (at_hz > _BAND_HZ[1])] = 0
    return np.fft.irfft(spectrum, len(sound))
