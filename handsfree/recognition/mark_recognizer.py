"""Recognizes the few words used in a timed run, and the alternatives to each.

In noise a short word often loses narrowly to other speech. A mark means that something was probably
said, so its sound is compared twice: with everything that people say, and with the words of the
clock alone. The difference in cost distinguishes a word from clatter.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from functools import cached_property

from handsfree.job.reading import Subject
from handsfree.language.automaton import Automaton
from handsfree.recognition.grammar_model import recognizer_for
from handsfree.recognition.graph_compiler import Costs
from handsfree.recognition.heard_words import MarkOf, Recognized, beat_s, labels_of
from handsfree.recognition.recognizer import Samples, VoskRecognizer
from handsfree.recognition.speech_model import SpeechModel
from handsfree.sample_rate import SAMPLE_RATE_HZ
from handsfree.timing.cue_alignment import CandidateWord, CueCandidates
from handsfree.timing.cycle import NEAR_S
from handsfree.timing.mark import Mark

HeardCue = tuple[CueCandidates, float | None]
"""The words that may have been said, and the end of the likeliest (s); None for the end if it is
not a word.
"""

_BEFORE_S = 0.55  # before the mark: 0.4 s of sound that the recognizer needs, and a first consonant
_APART_S = 0.9  # closer sounds belong to one phrase, unless it has ended
_BETWEEN_S = 0.2  # before the next mark: its own first consonant


def longest_s(by_leaf: bool) -> float:
    """Longest duration of a phrase (s); with ``by_leaf`` it includes the name of a leaf."""
    return 1.7 if by_leaf else 1.0


# Chosen on the voices used to train and tune the speech model, in held-out noises.
CLEARLY, SOUND, SPEECH = 1.0, 4.0, 25.0
"""Nats by which a word may cost more than the likeliest alternative: to count as clearly heard; to
count if that alternative is not speech; to count if it is other speech.
"""
_LEAST_SOUNDS = 2  # phones allowed as other speech: a tap is one
_WITHIN = 4.0  # nats over the likeliest word; a larger value is slow
_MOST = 24
_NO_OTHER = Costs(other_speech=1e4)


class MarkRecognizer:
    """A recognizer of the words of the clock; ``said_in`` lists the possible words of a mark."""

    def __init__(self, model: SpeechModel, marks: Automaton, mark_of: MarkOf) -> None:
        """Prepares the recognizer. Its grammars open on first use, in about 100 ms, because most
        visits time nothing by ear.
        """
        self._model = model
        self._marks = marks
        self._mark_of = mark_of

    @cached_property
    def _any(self) -> VoskRecognizer:
        return recognizer_for(self._model, self._marks, Costs())

    @cached_property
    def _words(self) -> VoskRecognizer:
        return recognizer_for(self._model, self._marks, _NO_OTHER, lattice_beam=_WITHIN)

    def recognize(self, samples: Samples) -> Recognized:
        """Returns the words of one whole utterance (mono, 16 kHz)."""
        return self._any.recognize(samples)

    def said_in(self, samples: Samples, start_s: float) -> HeardCue:
        """Lists what may have been said in a piece of a stream that starts at ``start_s`` (s)."""
        (best,) = self._any.alternatives(samples, 1)
        words = self._words.alternatives(samples, _MOST)
        over = words[0].cost - best.cost if words else math.inf
        speech = best.sounds >= _LEAST_SOUNDS or over <= CLEARLY
        heard = next((each.heard.words for each in (best, *words[:1]) if each.heard.words), ())
        speech_s = start_s + beat_s(heard[0]) if speech and heard else None
        if over > (SPEECH if speech else SOUND):
            return CueCandidates(speech_s=speech_s), None
        may_be: dict[tuple[str, Subject | None], CandidateWord] = {}
        for each in words:
            for label in labels_of(each.heard, self._mark_of, start_s)[:1]:
                cost = each.cost - words[0].cost
                if cost <= _WITHIN:
                    may_be.setdefault(
                        (label.word, label.leaf), CandidateWord(label=label, cost=cost)
                    )
        spoken = words[0].heard.words
        end_s = start_s + spoken[-1].end_s if spoken else None
        clearly = over <= CLEARLY and bool(may_be)
        return CueCandidates(
            words=tuple(may_be.values()), clearly=clearly, speech_s=speech_s
        ), end_s


def cues_at(
    recognizer: MarkRecognizer,
    samples: Samples,
    marks: Sequence[Mark],
    *,
    by_leaf: bool,
    known: dict[tuple[int, int], HeardCue] | None = None,
) -> list[tuple[Mark, CueCandidates]]:
    """Returns the marks of a stream, in order, with the words that may have been said at each.

    A sound within the words of a mark, such as a second word or syllable, is not another mark. With
    ``by_leaf`` each is a phrase ('left go'). ``known`` caches results for later calls.
    """
    known = {} if known is None else known
    found: list[tuple[Mark, CueCandidates]] = []
    ended = 0
    for nth, mark in enumerate(marks):
        if found and mark.sample < ended:
            continue
        begin, end = piece = _piece(marks, nth, ended, len(samples), by_leaf=by_leaf)
        if piece not in known:
            known[piece] = recognizer.said_in(samples[begin:end], begin / SAMPLE_RATE_HZ)
        said, end_s = known[piece]
        ended = mark.sample if end_s is None else round(end_s * SAMPLE_RATE_HZ)
        spoken = said.speech_s is not None and abs(said.speech_s - mark.at_s) <= NEAR_S
        found.append((mark.model_copy(update={"spoken": spoken}), said))
    return found


def _piece(
    marks: Sequence[Mark], nth: int, ended: int, count: int, *, by_leaf: bool
) -> tuple[int, int]:
    """Range of samples that may contain the words of a mark."""
    at = marks[nth].sample
    apart_s = _APART_S if by_leaf else 0.0
    begin = max(0, at - round(_BEFORE_S * SAMPLE_RATE_HZ), min(ended, at))
    end = min(count, at + round(longest_s(by_leaf) * SAMPLE_RATE_HZ))
    following = (
        mark.sample - round(_BETWEEN_S * SAMPLE_RATE_HZ)
        for mark in itertools.islice(marks, nth + 1, None)
        if mark.sample - at >= apart_s * SAMPLE_RATE_HZ
    )
    return begin, min(end, next(following, end))
