"""A voice detector that runs only on sound louder than the room.

While nobody speaks, the detector takes most of the processor time of listening. Intelligible speech
is louder than the noise, so chunks at the noise floor count as no voice without running the
detector.
"""

from __future__ import annotations

from collections import deque
from typing import Protocol

import numpy as np

FLOOR_CHUNKS = 125
"""Number of chunks whose lowest level is the noise floor: 4 s, because nobody talks that long
without a gap.
"""
_KNOWN_AFTER = 16
"""Number of chunks after which the noise floor is known: half a second. Until then the detector
gets every chunk.
"""
_ABOVE_DB = 4.0
"""Level above the noise floor at which a chunk reaches the detector (dB). Measured on noise alone:
chunks of white noise stay within 1 dB of their floor, chunks of shop ventilation within 3 dB.
"""
_HOLD_CHUNKS = 16
"""Number of chunks for which the detector keeps running after a loud one: soft endings, gaps in a
sentence.
"""
_BEFORE_CHUNKS = 8
"""Number of chunks before the first loud one that are fed to the detector."""
_LEAST_RMS = 0.3  # rounding noise of 16 bits, so that digital silence has a floor too


class VoiceDetector(Protocol):
    """Estimates whether a chunk contains a voice, using its memory of earlier chunks."""

    def process_chunk(self, audio: bytes) -> float:
        """Returns the probability of voice, 0 to 1, for 512 samples of 16-bit sound at 16 kHz."""
        ...


class NoiseGate:
    """Passes only chunks louder than the noise to ``detector``; all others score 0."""

    def __init__(self, detector: VoiceDetector) -> None:
        self._detector = detector
        self._levels_db: deque[float] = deque(maxlen=FLOOR_CHUNKS)
        self._unseen: deque[bytes] = deque(maxlen=_BEFORE_CHUNKS)
        self._hold = 0

    @property
    def floor_db(self) -> float | None:
        """Noise floor of the room (dB relative to full scale); None until it is known."""
        if len(self._levels_db) < _KNOWN_AFTER:
            return None
        return min(self._levels_db)

    def pass_by(self, audio: bytes) -> None:
        """Learns the noise floor from a chunk before the stream, which contains no voice."""
        self._levels_db.append(_level_db(audio))
        self._unseen.append(audio)

    def process_chunk(self, audio: bytes) -> float:
        """Returns the probability of voice, 0 to 1, for 512 samples of 16-bit sound at 16 kHz."""
        level_db = _level_db(audio)
        self._levels_db.append(level_db)
        floor_db = self.floor_db
        if floor_db is None or level_db > floor_db + _ABOVE_DB:
            self._hold = _HOLD_CHUNKS
        elif self._hold:
            self._hold -= 1
        if not self._hold:
            self._unseen.append(audio)
            return 0.0
        while self._unseen:
            self._detector.process_chunk(self._unseen.popleft())
        return self._detector.process_chunk(audio)


def _level_db(audio: bytes) -> float:
    samples = np.frombuffer(audio, np.int16).astype(np.float64)
    # A constant offset is not sound: unfiltered microphones have one of a few steps.
    rms = max(float(samples.std()), _LEAST_RMS)
    return 20 * float(np.log10(rms / 32768))
