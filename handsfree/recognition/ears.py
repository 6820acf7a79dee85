"""Where utterances come from: a recording, or typed lines."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal, Protocol, TextIO

import numpy as np
from numpy.typing import NDArray

from handsfree.audio.sound_files import LongSound
from handsfree.recognition.cycle_listener import MarkOf, Run, RunListener, no_run
from handsfree.recognition.noise_gate import FLOOR_CHUNKS
from handsfree.recognition.recognizer import Recognizer, Word
from handsfree.recognition.voice_activity import CHUNK, Segment, Segmenter
from handsfree.sample_rate import SAMPLE_RATE_HZ

_BLOCK = 1600  # a tenth of a second, about what a microphone delivers
_BEFORE = FLOOR_CHUNKS * CHUNK  # by so much the noise of the room is known


@dataclass(frozen=True)
class Utterance:
    """What was said between two silences.

    ``start_s`` and ``end_s`` are seconds on the audio clock of the source, ``words``
    on the same clock. ``samples`` is the sound (mono, 16 kHz). Typed lines have none
    of these.
    """

    text: str
    words: tuple[Word, ...] = ()
    start_s: float | None = None
    end_s: float | None = None
    samples: NDArray[np.int16] | None = None


@dataclass(frozen=True)
class Quiet:
    """Nobody has said anything for so long, the mouth's own time not counted."""

    seconds: float


TroubleKind = Literal["microphone_lost", "microphone_back", "microphone_silent", "sound_overflowed"]


@dataclass(frozen=True)
class Trouble:
    """Something is wrong with the source, or in order again; ``lost_s`` of sound are missing."""

    what: TroubleKind
    detail: str = ""
    lost_s: float | None = None


Heard = Utterance | Quiet | Trouble


class Ears(Protocol):
    """A source of utterances.

    ``can_time`` is whether there is a stream of sound to find marks in, ``tells_quiet``
    whether silence is told of; elsewhere it is seen from where the next utterance begins.
    """

    can_time: bool
    tells_quiet: bool

    def listen(self) -> Heard | None:
        """Waits for the next utterance; None when the source has ended."""
        ...

    def time(self, expected: int, least_rms: float) -> Run:
        """Listens for the marks of one run of the clock; where none can be, it has none."""
        ...


class RecordedEars:
    """Listens to a recording at full speed.

    Sound is taken only while listening: the recording stands still while the tool
    speaks, so nothing is missed and nothing is heard of the tool's own voice. After each
    utterance it goes on where the journal says that it ended, and knows of what was before
    only the room's noise: so a recording that is taken up again after a break gives the same
    utterances as without it.
    """

    tells_quiet = False

    def __init__(
        self,
        sound: Path | LongSound,
        recognizer: Recognizer,
        clock: tuple[Recognizer, MarkOf] | None = None,
        *,
        start_s: float = 0.0,
    ) -> None:
        """A recording, to be heard from ``start_s`` on; opened where it is a file's name.

        ``clock`` hears the words while the clock runs, and says what they mark.
        """
        self._recognizer = recognizer
        self._clock = clock
        self._sound = sound if isinstance(sound, LongSound) else LongSound(sound)
        self._at = round(start_s * SAMPLE_RATE_HZ)
        self.can_time = clock is not None

    def listen(self) -> Utterance | None:
        """The next utterance of the recording."""
        begun = self._at
        segment = self._next_segment(begun)
        if segment is None:
            return None
        utterance = utterance_of(segment, self._recognizer, begun)
        if utterance.end_s is not None:
            self._at = round(round(utterance.end_s, 2) * SAMPLE_RATE_HZ)
        return utterance

    def time(self, expected: int, least_rms: float) -> Run:
        """Goes on in the recording until the run is over."""
        if self._clock is None:
            return no_run()
        listener = RunListener(*self._clock, expected, least_rms)
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
    """Takes each line that is not blank as an utterance."""

    can_time = False
    tells_quiet = False

    def __init__(self, stream: TextIO | Iterable[str]) -> None:
        self._lines = iter(stream)

    def listen(self) -> Utterance | None:
        """The next line."""
        for line in self._lines:
            if text := " ".join(line.split()):
                return Utterance(text)
        return None

    def time(self, expected: int, least_rms: float) -> Run:
        """Typed lines have no marks."""
        return no_run()


class FakeEars:
    """Gives what was heard, and the runs of the clock, that it was made with."""

    tells_quiet = False

    def __init__(self, heard: Sequence[Heard], runs: Sequence[Run] = ()) -> None:
        self._heard = iter(heard)
        self._runs = iter(runs)
        self.can_time = bool(runs)

    def listen(self) -> Heard | None:
        """The next of them."""
        return next(self._heard, None)

    def time(self, expected: int, least_rms: float) -> Run:
        """The next of the runs."""
        return next(self._runs, no_run())


def utterance_of(segment: Segment, recognizer: Recognizer, skipped: int) -> Utterance:
    """What is heard in a segment of a stream that began after ``skipped`` samples."""
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
