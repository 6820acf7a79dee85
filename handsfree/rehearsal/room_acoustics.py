"""Room acoustics between a mouth and a microphone: noise, echo, and level of a voice."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from handsfree.sample_rate import SAMPLE_RATE_HZ

Sound = NDArray[np.float64]
VOICE_RMS = 2500.0
"""Level of the louder half of the technician's samples (of 32768), as in the hearing bench."""
ROOM_RMS = 8.0
"""Level of a quiet room's white noise, always present (of 32768)."""


@dataclass
class Room:
    """A continuous stream of room sound into which voices are mixed.

    ``noise`` is looped at ``snr_db`` below the technician's voice (the ratio of the mean powers of
    utterance and noise; None means a quiet room). ``echo_s`` is the reverberation time (60 dB), 0
    for no echo. ``off_axis_db`` is the loss at 8 kHz relative to 500 Hz and below, for a microphone
    that does not face the mouth. A passer-by is ``stranger_db`` softer than the technician.
    """

    snr_db: float | None = None
    noise: Sound | None = None
    echo_s: float = 0.0
    off_axis_db: float = 0.0
    stranger_db: float = 10.0
    seed: int = 0
    _at: int = field(default=0, init=False)

    def __post_init__(self) -> None:
        self._random = np.random.default_rng([self.seed, 7])
        bed = ventilation() if self.noise is None else self.noise
        self._bed = bed / max(math.sqrt(float(np.mean(bed**2))), 1e-9)
        self._at = int(self._random.integers(len(self._bed)))
        self._echo = _echo(self.echo_s, self._random) if self.echo_s > 0 else None

    def silence(self, seconds: float) -> NDArray[np.int16]:
        """The room alone."""
        return self._rendered(np.zeros(round(seconds * SAMPLE_RATE_HZ)))

    def with_voices(
        self, seconds: float, voices: list[tuple[float, Sound]], *, near: bool = True
    ) -> NDArray[np.int16]:
        """The room for ``seconds``, with voices that begin at their times.

        Voices have an RMS of one over their louder half; ``near`` marks the technician's.
        """
        gain = VOICE_RMS * (1.0 if near else 10 ** (-self.stranger_db / 20))
        dry = np.zeros(round(seconds * SAMPLE_RATE_HZ))
        for at_s, voice in voices:
            start = round(at_s * SAMPLE_RATE_HZ)
            piece = voice[: max(0, len(dry) - start)]
            dry[start : start + len(piece)] += gain * piece
        if self.off_axis_db:
            dry = _turned_away(dry, self.off_axis_db)
        if self._echo is not None:
            dry = _convolved(dry, self._echo)
        return self._rendered(dry)

    def _rendered(self, dry: Sound) -> NDArray[np.int16]:
        count = len(dry)
        mixed = dry + self._random.normal(0.0, ROOM_RMS, count)
        if self.snr_db is not None:
            # The whole utterance is some 3 dB below its louder half.
            rms = VOICE_RMS / math.sqrt(2) * 10 ** (-self.snr_db / 20)
            mixed += rms * np.take(self._bed, range(self._at, self._at + count), mode="wrap")
        self._at = (self._at + count) % len(self._bed)
        return np.clip(np.rint(mixed), -32768, 32767).astype(np.int16)


def _turned_away(sound: Sound, weaker_db: float) -> Sound:
    """Attenuates the high frequencies evenly by octaves from 500 Hz to 8 kHz."""
    spectrum = np.fft.rfft(sound)
    hertz = np.fft.rfftfreq(len(sound), 1 / SAMPLE_RATE_HZ)
    octaves = np.log2(np.maximum(hertz, 500.0) / 500.0)
    return np.fft.irfft(spectrum * 10 ** (-weaker_db * octaves / 4 / 20), len(sound))


def ventilation(seconds: float = 20.0) -> Sound:
    """Noise of a ventilated room: decreasing with frequency, with a faint mains hum."""
    count = round(seconds * SAMPLE_RATE_HZ)
    random = np.random.default_rng(417)
    spectrum = np.fft.rfft(random.standard_normal(count))
    frequency_hz = np.fft.rfftfreq(count, 1 / SAMPLE_RATE_HZ)
    noise = np.fft.irfft(spectrum / np.sqrt(np.maximum(frequency_hz, 60.0)), count)
    noise /= np.sqrt(np.mean(noise**2))
    hum = 0.2 * np.sin(2 * np.pi * 120.0 * np.arange(count) / SAMPLE_RATE_HZ)
    return np.asarray(noise + hum)


def _echo(seconds: float, random: np.random.Generator) -> Sound:
    """An impulse and a noise tail that decays by 60 dB in ``seconds``, 6 dB below the impulse in
    total.
    """
    count = round(seconds * SAMPLE_RATE_HZ)
    tail = random.standard_normal(count) * 10 ** (-3.0 * np.arange(count) / count)
    tail[: round(0.005 * SAMPLE_RATE_HZ)] = 0.0
    tail *= 0.5 / math.sqrt(float(np.sum(tail**2)))
    tail[0] = 1.0
    return np.asarray(tail)


def _convolved(sound: Sound, with_echo: Sound) -> Sound:
    count = len(sound) + len(with_echo) - 1
    size = 1 << (count - 1).bit_length()
    spectrum = np.fft.rfft(sound, size) * np.fft.rfft(with_echo, size)
    return np.asarray(np.fft.irfft(spectrum, size)[: len(sound)])
