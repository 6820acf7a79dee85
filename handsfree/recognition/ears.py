"""Sources of utterances: a recording or typed lines."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TextIO

import numpy as np
from numpy.typing import NDArray

from handsfree.audio.sound_files import LongSound
from handsfree.recognition.cycle_listener import CycleListener, CycleRun, MarkOf, empty_run
from handsfree.recognition.heard_words import Word
from handsfree.recognition.noise_gate import FLOOR_CHUNKS
from handsfree.recognition.port import EarEvent, Utterance
from handsfree.recognition.recognizer import Recognizer
from handsfree.recognition.voice_activity import CHUNK, Segment, Segmenter
from handsfree.sample_rate import SAMPLE_RATE_HZ

_BLOCK = 1600  # a tenth of a second, about the size that a microphone delivers
_BEFORE = FLOOR_CHUNKS * CHUNK  # sound before an utterance used to learn the noise floor


class RecordedEars:
    """Listens to a recording at full speed.

    Sound is read only while listening: the recording pauses while the tool speaks, so nothing is
    missed and the tool never hears itself. After each utterance it continues at the end of that
    utterance in the journal, and uses earlier sound only for the noise floor. So a recording
    resumed after a break gives the same utterances as without the break.
    """

    reports_silence = False

    def __init__(
        self,
        sound: Path | LongSound,
        recognizer: Recognizer,
        clock: tuple[Recognizer, MarkOf] | None = None,
        *,
        start_s: float = 0.0,
    ) -> None:
        """Opens a recording at ``start_s``; accepts a path or an open sound.

        ``clock`` recognizes the words of a timed cycle. Raises SoundError.
        """
        self._recognizer = recognizer
        self._clock = clock
        self._sound = sound if isinstance(sound, LongSound) else LongSound(sound)
        self._at = round(start_s * SAMPLE_RATE_HZ)
        self.can_time = clock is not None

    def listen(self) -> Utterance | None:
        """Returns the next utterance of the recording."""
        begun = self._at
        segment = self._next_segment(begun)
        if segment is None:
            return None
        utterance = utterance_of(segment, self._recognizer, begun)
        if utterance.end_s is not None:
            self._at = round(round(utterance.end_s, 2) * SAMPLE_RATE_HZ)
        return utterance

    def time(self, expected: int, least_rms: float) -> CycleRun:
        """Continues in the recording until the timed cycle is over."""
        if self._clock is None:
            return empty_run()
        listener = CycleListener(*self._clock, expected, least_rms)
        start = self._at
        while not listener.over and (block := self._next_block()) is not None:
            listener.feed(block)
        run = listener.finish()
        return replace(run, start_s=start / SAMPLE_RATE_HZ, end_s=self._at / SAMPLE_RATE_HZ)

    def _next_segment(self, begun: int) -> Segment | None:
        segmenter = Segmenter(before=self._sound.read(begun - _BEFORE, begun))
        while (block := self._next_block()) is not None:
            for segment in segmenter.feed(block):
                return segment
        return segmenter.flush()

    def _next_block(self) -> NDArray[np.int16] | None:
        block = self._sound.read(self._at, self._at + _BLOCK)
        self._at += len(block)
        return block if len(block) else None


class TypedEars:
    """Takes every non-blank line as an utterance."""

    can_time = False
    reports_silence = False

    def __init__(self, stream: TextIO | Iterable[str]) -> None:
        self._lines = iter(stream)

    def listen(self) -> Utterance | None:
        """Returns the next line."""
        for line in self._lines:
            if text := " ".join(line.split()):
                return Utterance(text)
        return None

    def time(self, expected: int, least_rms: float) -> CycleRun:
        """Returns an empty run: typed lines have no marks."""
        return empty_run()


class FakeEars:
    """Ears that return prepared utterances and timed runs."""

    reports_silence = False

    def __init__(self, heard: Sequence[EarEvent], runs: Sequence[CycleRun] = ()) -> None:
        self._heard = iter(heard)
        self._runs = iter(runs)
        self.can_time = bool(runs)

    def listen(self) -> EarEvent | None:
        """Returns the next prepared item."""
        return next(self._heard, None)

    def time(self, expected: int, least_rms: float) -> CycleRun:
        """Returns the next prepared run."""
        return next(self._runs, empty_run())


def utterance_of(segment: Segment, recognizer: Recognizer, skipped: int) -> Utterance:
    """Recognizes a segment of a stream that began after ``skipped`` samples."""
    heard = recognizer.recognize(segment.samples)
    offset = (skipped + segment.start_sample) / SAMPLE_RATE_HZ
    words = tuple(
        Word(
            word=word.word,
            start_s=round(offset + word.start_s, 3),
            end_s=round(offset + word.end_s, 3),
        )
        for word in heard.words
    )
    end = (skipped + segment.end_sample) / SAMPLE_RATE_HZ
    return Utterance(heard.text, words, round(offset, 3), round(end, 3), segment.samples)
