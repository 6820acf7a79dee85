"""A mark: one word, click or tap that tells when something happened, on the audio clock."""

from __future__ import annotations

from handsfree.job.record import Record
from handsfree.sample_rate import SAMPLE_RATE_HZ

MIN_GAP_S = 0.5
"""Sounds nearer than this are one mark: an echo, the leaf's own thump, a second syllable."""


class Mark(Record):
    """When a sharp sound happens: a tap where it is struck, a word at its beat.

    ``sample`` counts from the first sample of the stream (16 kHz), so that no delay of a
    device or a recognizer is in it; ``end_sample`` is where the sound has died away. ``snr_db``
    is the loudest 10 ms over the noise before it, in dB, each band weighed by its own noise;
    ``level_db`` is the mean square of the same 10 ms, full scale being 0 dB. ``uncertainty_s``
    is the standard uncertainty of the position, without the person who made the mark.
    ``clipped`` says that the sound drove the microphone to its limit. ``spoken`` says whether a
    recognizer hears speech begin there, understood or not; None where none has listened.
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
        """Seconds from the first sample of the stream."""
        return self.sample / SAMPLE_RATE_HZ
