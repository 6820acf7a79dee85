"""Listens while the clock runs: the marks in the stream of samples, and the words at them."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from handsfree.grammar.automaton import Automaton
from handsfree.job.reading import Subject
from handsfree.speech.graph import compile_graph
from handsfree.speech.lexicon import read_lexicon
from handsfree.speech.model import SAMPLE_RATE, SpeechModel
from handsfree.speech.recogniser import Recogniser, VoskRecogniser, Word
from handsfree.speech.voice_activity import Segment, Segmenter
from handsfree.timing.cycle import WORDS, Label
from handsfree.timing.mark import Mark
from handsfree.timing.onset import OnsetDetector

QUIET_AFTER_S = 0.8
"""How long it listens on after the last mark, for one too many."""
GIVE_UP_S = 75.0
"""Without a mark for so long the run is over; a leaf is held open for 30 s at most."""
CANCEL = "cancel"

MarkOf = Callable[[str], str | None]
"""What words mark: one of WORDS, CANCEL, or None; 'left go' where a leaf is named too."""
_LEAVES = {"left": Subject.LEFT_LEAF, "right": Subject.RIGHT_LEAF}


@dataclass(frozen=True)
class Run:
    """What was heard of one cycle.

    Marks and labels count from the first of ``samples``, which lie from ``start_s`` to
    ``end_s`` on the clock of the source.
    """

    marks: tuple[Mark, ...]
    labels: tuple[Label, ...]
    samples: NDArray[np.int16]
    cancelled: bool = False
    start_s: float | None = None
    end_s: float | None = None


def no_run() -> Run:
    """What is heard where there is no sound."""
    return Run((), (), np.zeros(0, np.int16))


class RunListener:
    """Takes the stream from where the clock starts, in blocks of any size, until it is ``over``.

    ``least_rms`` (0 to 1) is what a mark must reach, a share of the voice that started the
    clock. Words are sought in the same stream; a mark needs none.
    """

    def __init__(
        self, recogniser: Recogniser, mark_of: MarkOf, expected: int, least_rms: float
    ) -> None:
        self._recogniser = recogniser
        self._mark_of = mark_of
        self._expected = expected
        self._detector = OnsetDetector(least_rms=least_rms)
        self._segmenter = Segmenter()
        self._blocks: list[NDArray[np.int16]] = []
        self._count = 0
        self._marks: list[Mark] = []
        self._labels: list[Label] = []
        self._cancelled = False

    def feed(self, block: NDArray[np.int16]) -> None:
        """The next samples of the stream (16 kHz, mono)."""
        self._blocks.append(block)
        self._count += len(block)
        self._marks += self._detector.feed(block)
        for segment in self._segmenter.feed(block):
            self._hear(segment)

    def cancel(self) -> None:
        """The run is called off."""
        self._cancelled = True

    @property
    def over(self) -> bool:
        """Whether all marks are there and it is quiet after them, or no more are to come."""
        last = self._marks[-1].end_sample if self._marks else 0
        since_s = (self._count - last) / SAMPLE_RATE
        enough = len(self._marks) >= self._expected and since_s >= QUIET_AFTER_S
        return self._cancelled or enough or since_s >= GIVE_UP_S

    def finish(self) -> Run:
        """The run, with whatever still sounded when the stream ended."""
        self._marks += self._detector.finish()
        if (last := self._segmenter.flush()) is not None:
            self._hear(last)
        samples = np.concatenate(self._blocks) if self._blocks else np.zeros(0, np.int16)
        return Run(tuple(self._marks), tuple(self._labels), samples, self._cancelled)

    def _hear(self, segment: Segment) -> None:
        heard = self._recogniser.recognise(segment.samples)
        if self._mark_of(heard.text) == CANCEL:
            self._cancelled = True
            return
        offset_s = segment.start_sample / SAMPLE_RATE
        before: Word | None = None
        for word in heard.words:
            pair = self._mark_of(f"{before.word} {word.word}") if before is not None else None
            side, _, mark = (pair or self._mark_of(word.word) or "").rpartition(" ")
            first = before if pair and before is not None else word
            if mark in WORDS:
                start_s = offset_s + first.start_s
                self._labels.append(Label(word=mark, start_s=start_s, leaf=_LEAVES.get(side)))
            before = word


def mark_recogniser(model: SpeechModel, marks: Automaton) -> VoskRecogniser:
    """The model with the few words that are said while the clock runs, and no others.

    The graph of a static model is made anew for them: some 50 ms. Raises ModelError.
    """
    if model.kind == "dynamic":
        return VoskRecogniser(model, marks)
    with tempfile.TemporaryDirectory(prefix="handsfree-marks-") as folder:
        into = Path(folder) / "model"
        shutil.copytree(model.folder, into)
        compile_graph(marks, read_lexicon(into / "lexicon.txt")).write(into / "graph")
        return VoskRecogniser(SpeechModel.load(into), marks)
