"""Listens to a timed cycle: the marks in the stream of samples and the words at them."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from handsfree.job.reading import LEAF_SUBJECTS
from handsfree.language.automaton import Automaton
from handsfree.recognition.cycle_run import CycleRun
from handsfree.recognition.heard_words import CANCEL, MarkOf, labels_of
from handsfree.recognition.mark_recognizer import HeardCue, MarkRecognizer, cues_at, longest_s
from handsfree.recognition.recognizer import Recognizer, VoskRecognizer
from handsfree.recognition.speech_model import SpeechModel
from handsfree.recognition.voice_activity import CHUNK, Segment, Segmenter
from handsfree.sample_rate import SAMPLE_RATE_HZ
from handsfree.timing.cue_alignment import CueCandidates, align_words
from handsfree.timing.cycle import MOMENTS, MOST_UNHEARD, NEAR_S, WORDS, Label
from handsfree.timing.mark import Mark
from handsfree.timing.onset_detector import OnsetDetector
from handsfree.timing.recorded_marks import AFTER_S, mark_of_word

__all__ = ["CANCEL", "CycleListener", "CycleRun", "MarkOf", "empty_run", "mark_recognizer"]

QUIET_AFTER_S = 0.8
"""Silence after the last expected mark in which an extra mark may follow (s)."""
CLATTER_S = 12.0
"""Longest wait for a late word after clatter among the words (s); longer than a leaf takes to
close.
"""
LATCHED_S = 3.0
"""Wait for a missed mark after the last word of the cycle (s)."""
GIVE_UP_S = 75.0
"""Time without a mark after which the run is over (s); a leaf is held open for 30 s at most."""

_LAST = tuple(WORDS)[-1]


def empty_run() -> CycleRun:
    """Returns the empty run of a source without sound."""
    return CycleRun((), (), np.zeros(0, np.int16))


class CycleListener:
    """Takes the stream from the start of the clock, in blocks of any size, until ``over`` is True.

    ``least_rms`` (0 to 1) is the level that a mark must reach, derived from the voice that started
    the clock. Words are recognized at the marks and in anything that sounds like a voice. If a word
    has no mark, the mark is searched for again, and the word is reported even if none is found. A
    mark needs no word.
    """

    def __init__(
        self, recognizer: Recognizer, mark_of: MarkOf, expected: int, least_rms: float
    ) -> None:
        self._recognizer = recognizer
        self._mark_of = mark_of
        self._expected = expected
        self._by_leaf = expected > len(MOMENTS)
        self._least_rms = least_rms
        self._detector = OnsetDetector(least_rms=least_rms)
        self._segmenter = Segmenter()
        self._blocks: list[NDArray[np.int16]] = []
        self._count = 0
        self._marks: list[Mark] = []
        self._labels: list[Label] = []
        self._looked_for = 0  # number of labels whose missing mark was already searched for
        self._said: dict[tuple[int, int], HeardCue] = {}
        self._latched: tuple[int, bool] = (
            0,
            False,
        )  # number of marks, and whether they end the cycle
        self._cancelled = False

    def feed(self, block: NDArray[np.int16]) -> None:
        """Takes the next samples of the stream (16 kHz, mono)."""
        self._blocks.append(block)
        self._count += len(block)
        if new := self._detector.feed(block):
            self._add(new)
            self._hear_ahead()
        for segment in self._segmenter.feed(block):
            self._hear(segment)
        self._look_for_marks(self._count / SAMPLE_RATE_HZ - AFTER_S)

    def cancel(self) -> None:
        """Cancels the run."""
        self._cancelled = True

    @property
    def over(self) -> bool:
        """True once all marks were heard and silence follows, or no more can come.

        Time is counted in whole chunks of the voice activity, so that a run ends at the same sample
        whatever the size of the blocks.
        """
        count = self._count - self._count % CHUNK
        last = self._marks[-1].end_sample if self._marks else 0
        since_s = (count - last) / SAMPLE_RATE_HZ
        if self._cancelled or since_s >= GIVE_UP_S:
            return True
        if since_s < QUIET_AFTER_S:
            return False
        if len(self._marks) < self._expected:
            return since_s >= LATCHED_S and self._has_latched()
        if (count - self._marks[-1].sample) / SAMPLE_RATE_HZ < longest_s(self._by_leaf):
            return False
        heard = self._heard_marks(self._marks)
        spoken = sum(bool(mark.spoken) for mark, _ in heard)
        clatter = len(heard) / 2 <= spoken < self._expected
        return len(heard) >= self._expected and not (clatter and since_s < CLATTER_S)

    def finish(self) -> CycleRun:
        """Returns the run, including sound that was unfinished when the stream ended."""
        self._add(self._detector.finish())
        if (last := self._segmenter.flush()) is not None:
            self._hear(last)
        self._look_for_marks(math.inf)
        samples = self._samples()
        if not isinstance(self._recognizer, MarkRecognizer):
            return CycleRun(tuple(self._marks), tuple(self._labels), samples, self._cancelled)
        marks, labels = self._named_marks()
        elsewhere = [label for label in self._labels if not self._marked(label)]
        in_order = sorted((*labels, *elsewhere), key=lambda label: label.start_s)
        return CycleRun(tuple(marks), tuple(in_order), samples, self._cancelled)

    def _add(self, marks: Sequence[Mark]) -> None:
        self._marks = sorted((*self._marks, *marks), key=lambda mark: mark.sample)

    def _marked(self, label: Label) -> bool:
        return any(abs(mark.at_s - label.start_s) <= NEAR_S for mark in self._marks)

    def _look_for_marks(self, until_s: float) -> None:
        """Searches for the marks of words heard before ``until_s`` that have none."""
        for label in self._labels[self._looked_for :]:
            if label.start_s > until_s:
                break
            self._looked_for += 1
            if self._marked(label):
                continue
            mark = mark_of_word(self._samples(), label.start_s, NEAR_S, self._least_rms)
            if mark is not None:
                self._add((mark,))

    def _samples(self) -> NDArray[np.int16]:
        self._blocks = [np.concatenate(self._blocks)] if self._blocks else []
        return self._blocks[0] if self._blocks else np.zeros(0, np.int16)

    def _hear_ahead(self) -> None:
        """Recognizes the words at the marks so far, to leave little work for the end."""
        *before, last = self._marks
        if before and (last.sample - before[-1].sample) / SAMPLE_RATE_HZ > longest_s(self._by_leaf):
            self._heard_marks(before)

    def _named_marks(self) -> tuple[list[Mark], tuple[Label, ...]]:
        """The marks so far and the words that name them."""
        heard = self._heard_marks(self._marks)
        marks = [mark for mark, _ in heard]
        return marks, align_words(marks, [said for _, said in heard], by_leaf=self._by_leaf)

    def _has_latched(self) -> bool:
        """True if the last mark is the last word of the cycle and follows most of the others."""
        if self._latched[0] != len(self._marks):
            marks, labels = self._named_marks()
            last = [label for label in labels if label.word == _LAST]
            leaves = {label.leaf for label in last}
            ended = (
                self._expected - len(labels) <= MOST_UNHEARD
                and bool(last)
                and abs(last[-1].start_s - marks[-1].at_s) <= NEAR_S
                and (not self._by_leaf or leaves == set(LEAF_SUBJECTS))
            )
            self._latched = len(self._marks), ended
        return self._latched[1]

    def _heard_marks(self, marks: Sequence[Mark]) -> list[tuple[Mark, CueCandidates]]:
        """The marks, with the words that may have been said at each."""
        if not isinstance(self._recognizer, MarkRecognizer):
            return [(mark, CueCandidates()) for mark in marks]
        return cues_at(
            self._recognizer, self._samples(), marks, by_leaf=self._by_leaf, known=self._said
        )

    def _hear(self, segment: Segment) -> None:
        heard = self._recognizer.recognize(segment.samples)
        if self._mark_of(heard.text) == CANCEL:
            self._cancelled = True
            return
        self._labels += labels_of(heard, self._mark_of, segment.start_sample / SAMPLE_RATE_HZ)


def mark_recognizer(model: SpeechModel, marks: Automaton, mark_of: MarkOf) -> Recognizer:
    """Builds a recognizer of the few words used in a timed run.

    A dynamic model takes no costs, so it reports each word as heard. Raises ModelError.
    """
    if model.kind == "dynamic":
        return VoskRecognizer(model, marks)
    return MarkRecognizer(model, marks, mark_of)
