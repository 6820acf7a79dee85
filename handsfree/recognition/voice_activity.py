"""Cuts a stream of sound into utterances by voice activity.

Time is counted in samples, so a recording at full speed and a microphone give the same utterances.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from handsfree.recognition.noise_gate import FLOOR_CHUNKS, NoiseGate, VoiceDetector
from handsfree.recognition.voice_net import voice_net
from handsfree.sample_rate import SAMPLE_RATE_HZ

CHUNK = 512
"""Samples per decision: 32 ms, the only size that the detector accepts."""


@dataclass(frozen=True, slots=True)
class VoiceActivitySettings:
    """Thresholds for the start and end of an utterance: seconds, and a probability for ``voice``.

    ``pre_roll_s`` of sound before the voice is kept, so that a short first word is not lost.
    ``endpoint_s`` without voice ends the utterance. A voice shorter than ``shortest_s`` is a click;
    an utterance is cut after ``longest_s``.

    Measured on 180 human recordings, at least a second apart: 178 found in quiet, 1 split; at 20 dB
    of shop, street, rain or running water 172 to 177 found; at 10 dB 137 to 172. An utterance ends
    0.43 s after its voice.
    """

    voice: float = 0.4
    pre_roll_s: float = 0.5
    endpoint_s: float = 0.35
    shortest_s: float = 0.1
    longest_s: float = 15.0


@dataclass(frozen=True, slots=True)
class Segment:
    """One utterance: its start in the stream, and its sound."""

    start_sample: int
    samples: NDArray[np.int16]

    @property
    def end_sample(self) -> int:
        """Index of the first sample after the segment."""
        return self.start_sample + len(self.samples)


class Segmenter:
    """Takes blocks of any size and yields the utterances that they complete.

    ``before`` is earlier sound from which the noise floor is learned.
    """

    def __init__(
        self,
        settings: VoiceActivitySettings | None = None,
        detector: VoiceDetector | None = None,
        *,
        before: NDArray[np.int16] | None = None,
    ) -> None:
        self._settings = settings or VoiceActivitySettings()
        self._detector = detector or _gate(before)
        self._position = 0
        self._pending = np.zeros(0, np.int16)
        self._kept: list[NDArray[np.int16]] = []
        self._voiced = 0
        self._since_voice = 0

    def feed(self, block: NDArray[np.int16]) -> Iterator[Segment]:
        """Yields the utterances that end within this block (mono, 16 kHz)."""
        sound = np.concatenate((self._pending, block))
        whole = len(sound) // CHUNK * CHUNK
        self._pending = sound[whole:]
        for start in range(0, whole, CHUNK):
            segment = self._judge(sound[start : start + CHUNK])
            if segment is not None:
                yield segment

    @property
    def voice_s(self) -> float:
        """Voice in the current utterance so far (s); 0 between utterances."""
        return self._voiced * CHUNK / SAMPLE_RATE_HZ

    def paused(self, seconds: float) -> NDArray[np.int16] | None:
        """Returns the current utterance as if it ended now.

        None unless it has enough voice and has been silent for ``seconds``.
        """
        long_enough = self._voiced >= _chunks(self._settings.shortest_s)
        if not long_enough or self._since_voice < _chunks(seconds):
            return None
        return np.concatenate(self._kept)

    def flush(self) -> Segment | None:
        """Returns the unfinished utterance at the end of the stream, if there is one."""
        self._kept.append(self._pending)
        self._position += len(self._pending)
        self._pending = np.zeros(0, np.int16)
        return self._end()

    def _judge(self, chunk: NDArray[np.int16]) -> Segment | None:
        settings = self._settings
        self._position += CHUNK
        self._kept.append(chunk)
        if self._detector.process_chunk(chunk.tobytes()) >= settings.voice:
            self._voiced += 1
            self._since_voice = 0
        elif self._voiced:
            self._since_voice += 1
        if not self._voiced:
            self._keep_pre_roll()
            return None
        ended = self._since_voice >= _chunks(settings.endpoint_s)
        too_long = len(self._kept) >= _chunks(settings.longest_s)
        return self._end() if ended or too_long else None

    def _end(self) -> Segment | None:
        """Closes the current utterance; None if its voice was too short."""
        long_enough = self._voiced >= _chunks(self._settings.shortest_s)
        sound = np.concatenate(self._kept)
        self._voiced = self._since_voice = 0
        if long_enough:
            self._kept = []
            return Segment(self._position - len(sound), sound)
        self._keep_pre_roll()
        return None

    def _keep_pre_roll(self) -> None:
        excess = len(self._kept) - _chunks(self._settings.pre_roll_s)
        if excess > 0:
            del self._kept[:excess]


def _gate(before: NDArray[np.int16] | None) -> NoiseGate:
    gate = NoiseGate(voice_net())
    if before is not None:
        first = len(before) % CHUNK + max(0, len(before) // CHUNK - FLOOR_CHUNKS) * CHUNK
        for start in range(first, len(before), CHUNK):
            gate.pass_by(before[start : start + CHUNK].tobytes())
    return gate


def _chunks(seconds: float) -> int:
    return max(1, round(seconds * SAMPLE_RATE_HZ / CHUNK))
