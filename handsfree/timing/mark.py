"""A mark: a word, click or tap that marks the time of an event on the audio clock."""

from __future__ import annotations

from handsfree.job.record import Record
from handsfree.sample_rate import SAMPLE_RATE_HZ

MIN_GAP_S = 0.5
"""Smallest gap between two marks (s); closer sounds are echoes, the leaf's thump, or second
syllables.
"""
VOICE_SHARE = 0.7
"""Share of the voice's RMS that a mark must reach. The loudest 10 ms of a word are some 6 dB above
its RMS; half of that margin is left for soft words.
"""


class Mark(Record):
    """Time of a sharp sound: a tap at its impact, a word at its beat.

    ``sample`` counts from the first sample of the stream (16 kHz), so no delay of a device or
    recognizer is involved. ``end_sample`` is the end of the decaying sound. ``snr_db`` compares the
    loudest 10 ms with the noise before it, in dB, each band weighted by its own noise. ``level_db``
    is the mean square of the same 10 ms, relative to full scale. ``uncertainty_s`` is the standard
    uncertainty of the position without the person who made the mark. ``clipped`` means that the
    sound drove the microphone to its limit. ``spoken`` is true if a recognizer heard speech begin
    there, understood or not; None if no recognizer checked.
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
