"""Recognizes the few words used in a timed run, and the alternatives to each."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property

from handsfree.language.automaton import Automaton
from handsfree.recognition.grammar_model import recognizer_for
from handsfree.recognition.graph_compiler import Costs
from handsfree.recognition.heard_words import MarkOf, Recognized
from handsfree.recognition.mark_cues import (
    MOST,
    NO_OTHER,
    WITHIN,
    HeardCue,
    cue_of,
    cues_between,
    longest_s,
)
from handsfree.recognition.recognizer import Samples, VoskRecognizer
from handsfree.recognition.speech_model import SpeechModel
from handsfree.sample_rate import SAMPLE_RATE_HZ
from handsfree.timing.cue_alignment import CueCandidates
from handsfree.timing.mark import Mark

__all__ = ["HeardCue", "MarkRecognizer", "cues_at", "longest_s"]


class MarkRecognizer:
    """A recognizer of the words of the clock; ``said_in`` lists what a mark may have been."""

    def __init__(self, model: SpeechModel, marks: Automaton, mark_of: MarkOf) -> None:
        """Sets the model; its grammars open on first use, in some 100 ms, because most visits time
        nothing by ear.
        """
        self._model = model
        self._marks = marks
        self._mark_of = mark_of

    @cached_property
    def _any(self) -> VoskRecognizer:
        return recognizer_for(self._model, self._marks, Costs())

    @cached_property
    def _words(self) -> VoskRecognizer:
        return recognizer_for(self._model, self._marks, NO_OTHER, lattice_beam=WITHIN)

    def recognize(self, samples: Samples) -> Recognized:
        """Returns the words of one whole utterance (mono, 16 kHz)."""
        return self._any.recognize(samples)

    def said_in(self, samples: Samples, start_s: float) -> HeardCue:
        """Lists what may have been said in a piece of a stream that starts at ``start_s`` (s)."""
        (best,) = self._any.alternatives(samples, 1)
        words = self._words.alternatives(samples, MOST)
        return cue_of(best, words, self._mark_of, start_s)


def cues_at(
    recognizer: MarkRecognizer,
    samples: Samples,
    marks: Sequence[Mark],
    *,
    by_leaf: bool,
    known: dict[tuple[int, int], HeardCue] | None = None,
) -> list[tuple[Mark, CueCandidates]]:
    """Returns the marks of a stream, in order, with the words that may have been said at each.

    A sound within the words of a mark, such as a second word or syllable, is not another mark.
    ``by_leaf`` means that each is a phrase ('left go'). ``known`` caches results for later calls.
    """
    known = {} if known is None else known

    def said_in(begin: int, end: int) -> HeardCue:
        if (begin, end) not in known:
            piece = samples[begin:end]
            known[begin, end] = recognizer.said_in(piece, begin / SAMPLE_RATE_HZ)
        return known[begin, end]

    return cues_between(said_in, len(samples), marks, by_leaf=by_leaf)
