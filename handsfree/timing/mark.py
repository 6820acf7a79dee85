"""A mark: a word, click or tap that tells when something happened, on the audio clock."""

from __future__ import annotations

from handsfree.job.record import Record
from handsfree.sample_rate import SAMPLE_RATE_HZ

MIN_GAP_S = 0.5
"""Smallest gap between two marks (s); closer sounds are an echo, the leaf's thump, a second
syllable.
"""
VOICE_SHARE = 0.7
"""Share of the voice's RMS that a mark must reach. The loudest 10 ms of a word are some 6 dB above
its RMS; half of that is left for soft words.
"""


class Mark(Record):
    """Time of a sharp sound: a tap at its impact, a word at its beat.

    ``sample`` counts from the first sample of the stream (16 kHz), so it contains no delay of a
    device or recognizer. ``end_sample`` is where the sound has died away. ``snr_db`` compares the
    loudest 10 ms with the noise before it, in dB, each band weighted by its own noise. ``level_db``
    is the mean square of the same 10 ms, relative to full scale. ``uncertainty_s`` is the standard
    uncertainty of the position without the person who made the mark. ``clipped`` means that the
    sound drove the microphone to its limit. ``spoken`` is whether a recognizer heard speech begin
    there, understood or not; None if none has listened.
    """

    sample: int
    end_sample: int
    snr_db: float
    level_db: float
    uncertainty_s: float
    clipped: bool = False
    spoken: bool | None = None

    @property
    def at_s(self) -> float:
        """Time from the first sample of the stream (s)."""
        return self.sample / SAMPLE_RATE_HZ
