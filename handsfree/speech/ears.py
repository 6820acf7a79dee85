"""Where utterances come from: a recording, or typed lines."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol, TextIO

import numpy as np
from numpy.typing import NDArray

from handsfree.speech.model import SAMPLE_RATE
from handsfree.speech.recogniser import Recogniser, Word
from handsfree.speech.sound import read_sound
from handsfree.speech.voice_activity import Segment, Segmenter

_BLOCK = 1600  # a tenth of a second, about what a microphone delivers


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


class Ears(Protocol):
    """A source of utterances."""

    def listen(self) -> Utterance | None:
        """Waits for the next utterance; None when the source has ended."""
        ...


class RecordedEars:
    """Listens to a recording at full speed.

    Sound is taken only while listening: the recording stands still while the tool
    speaks, so nothing is missed and nothing is heard of the tool's own voice.
    """

    def __init__(
        self,
        path: Path,
        recogniser: Recogniser,
        segmenter: Segmenter | None = None,
        *,
        start_s: float = 0.0,
    ) -> None:
        """Opens a recording, to be heard from ``start_s`` on."""
        self._recogniser = recogniser
        self._skipped = round(start_s * SAMPLE_RATE)
        sound = read_sound(path)[self._skipped :]
        self._segments = _segments(sound, segmenter or Segmenter())

    def listen(self) -> Utterance | None:
        """The next utterance of the recording."""
        segment = next(self._segments, None)
        if segment is None:
            return None
        return _utterance(segment, self._recogniser, self._skipped)


class TypedEars:
    """Takes each line that is not blank as an utterance."""

    def __init__(self, stream: TextIO | Iterable[str]) -> None:
        self._lines = iter(stream)

    def listen(self) -> Utterance | None:
        """The next line."""
        for line in self._lines:
            if text := " ".join(line.split()):
                return Utterance(text)
        return None


class FakeEars:
    """Gives the utterances that it was made with."""

    def __init__(self, utterances: Sequence[Utterance]) -> None:
        self._utterances = iter(utterances)

    def listen(self) -> Utterance | None:
        """The next of them."""
        return next(self._utterances, None)


def _segments(sound: NDArray[np.int16], segmenter: Segmenter) -> Iterator[Segment]:
    for start in range(0, len(sound), _BLOCK):
        yield from segmenter.feed(sound[start : start + _BLOCK])
    last = segmenter.flush()
    if last is not None:
        yield last


def _utterance(segment: Segment, recogniser: Recogniser, skipped: int) -> Utterance:
    heard = recogniser.recognise(segment.samples)
    offset = (skipped + segment.start_sample) / SAMPLE_RATE
    words = tuple(
        Word(
            word=word.word,
            start_s=round(offset + word.start_s, 3),
            end_s=round(offset + word.end_s, 3),
        )
        for word in heard.words
    )
    end = (skipped + segment.end_sample) / SAMPLE_RATE
    return Utterance(heard.text, words, round(offset, 3), round(end, 3), segment.samples)
