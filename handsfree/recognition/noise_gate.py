"""A voice detector that looks only where a sound is louder than the room.

The detector costs more than everything else that listening needs while nobody speaks. A voice
that is to be understood stands above the noise, so chunks at the floor of the noise are no voice
without being looked at.
"""

from __future__ import annotations

from collections import deque
from typing import Protocol

import numpy as np

FLOOR_CHUNKS = 125
"""The floor is the lowest level of so many chunks, 4 s: nobody talks so long without a gap."""
_KNOWN_AFTER = 16
"""Half a second: before that the floor is not known, and everything is looked at."""
_ABOVE_DB = 4.0
"""So much louder than the floor a chunk is looked at. Measured on noise alone: chunks of white
noise stay within 1 dB of their floor, of a shop's ventilation within 3 dB."""
_HOLD_CHUNKS = 16
"""So long it goes on being looked at: soft endings, and the gaps inside a sentence."""
_BEFORE_CHUNKS = 8
"""So many chunks before the first loud one are gone through, for the detector's memory."""
_LEAST_RMS = 0.3  # rounding noise of 16 bits: digital silence has a floor too


class VoiceDetector(Protocol):
    """Says how surely a chunk holds a voice; remembers what came before it."""

    def process_chunk(self, audio: bytes) -> float:
        """The probability, 0 to 1, for 512 samples of 16-bit sound at 16 kHz."""
        ...


class NoiseGate:
    """Asks ``detector`` about the chunks that are louder than the noise, and says 0 of others."""

    def __init__(self, detector: VoiceDetector) -> None:
        self._detector = detector
        self._levels_db: deque[float] = deque(maxlen=FLOOR_CHUNKS)
        self._unseen: deque[bytes] = deque(maxlen=_BEFORE_CHUNKS)
        self._hold = 0

    @property
    def floor_db(self) -> float | None:
        """The level of the room's noise in dB below full scale; None while it is not known."""
        if len(self._levels_db) < _KNOWN_AFTER:
            return None
        return min(self._levels_db)

    def pass_by(self, audio: bytes) -> None:
        """A chunk from before the stream: the floor is known by it, no voice is sought in it."""
        self._levels_db.append(_level_db(audio))
        self._unseen.append(audio)

    def process_chunk(self, audio: bytes) -> float:
        """The probability, 0 to 1, for 512 samples of 16-bit sound at 16 kHz."""
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
    # What never changes is no sound: microphones without a filter are off by some steps.
    rms = max(float(samples.std()), _LEAST_RMS)
    return 20 * float(np.log10(rms / 32768))
