"""Lists the words that may have been said at each mark of a run.

In noise a short word is often narrowly lost to other speech. But a mark is usually a word, so its
sound is decoded twice: with everything that people say, and with the words of the clock alone. The
difference in cost distinguishes a word from clatter.

It needs no numpy and no recognizer, so a phone decides as the desktop does.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Sequence

from handsfree.job.reading import Subject
from handsfree.recognition.close_calls import Alternative
from handsfree.recognition.graph_compiler import Costs
from handsfree.recognition.heard_words import MarkOf, beat_s, labels_of
from handsfree.sample_rate import SAMPLE_RATE_HZ
from handsfree.timing.cue_alignment import CandidateWord, CueCandidates
from handsfree.timing.cycle import NEAR_S
from handsfree.timing.mark import Mark

HeardCue = tuple[CueCandidates, float | None]
"""The words that may have been said, and the end of the likeliest (s), None if it is not a word."""

_BEFORE_S = 0.55  # before the mark: 0.4 s of sound that the recognizer needs, and a first consonant
_APART_S = 0.9  # between two phrases: a closer sound is a syllable, unless the phrase has ended
_BETWEEN_S = 0.2  # before the next mark: its own first consonant


def longest_s(by_leaf: bool) -> float:
    """Longest duration of a word (s), including the name of a leaf if ``by_leaf``."""
    return 1.7 if by_leaf else 1.0


# Chosen on the voices that the speech model was trained and tuned on, in held-out noises.
CLEARLY, SOUND, SPEECH = 1.0, 4.0, 25.0
"""Largest extra cost of a word over the likeliest of everything (nats): to count as clearly heard;
to count if the likeliest is not speech; to count if it is other speech.
"""
_LEAST_SOUNDS = 2  # phones that make other speech: a tap is one
WITHIN = 4.0
"""Nats over the likeliest word within which others are listed; more is slow."""
MOST = 24
"""Number of alternatives that are listed with the words of the clock alone."""
NO_OTHER = Costs(other_speech=1e4)
"""Costs with which only the words of the clock are recognized."""


def cue_of(
    best: Alternative, words: Sequence[Alternative], mark_of: MarkOf, start_s: float
) -> HeardCue:
    """Lists what may have been said in a piece of a stream that starts at ``start_s`` (s).

    ``best`` is the likeliest of everything, ``words`` are the alternatives with the words of the
    clock alone.
    """
    over = words[0].cost - best.cost if words else math.inf
    speech = best.sounds >= _LEAST_SOUNDS or over <= CLEARLY
    heard = next((each.heard.words for each in (best, *words[:1]) if each.heard.words), ())
    speech_s = start_s + beat_s(heard[0]) if speech and heard else None
    if over > (SPEECH if speech else SOUND):
        return CueCandidates(speech_s=speech_s), None
    may_be: dict[tuple[str, Subject | None], CandidateWord] = {}
    for each in words:
        for label in labels_of(each.heard, mark_of, start_s)[:1]:
            cost = each.cost - words[0].cost
            if cost <= WITHIN:
                may_be.setdefault((label.word, label.leaf), CandidateWord(label=label, cost=cost))
    spoken = words[0].heard.words
    end_s = start_s + spoken[-1].end_s if spoken else None
    clearly = over <= CLEARLY and bool(may_be)
    return CueCandidates(words=tuple(may_be.values()), clearly=clearly, speech_s=speech_s), end_s


def cues_between(
    said_in: Callable[[int, int], HeardCue],
    count: int,
    marks: Sequence[Mark],
    *,
    by_leaf: bool,
) -> list[tuple[Mark, CueCandidates]]:
    """Returns the marks of a stream of ``count`` samples, in order, with what may have been said.

    A sound within the words of a mark, such as a second word or syllable, is not another mark.
    ``by_leaf`` means that each is a phrase ('left go'). ``said_in`` hears the piece from one sample
    to another.
    """
    found: list[tuple[Mark, CueCandidates]] = []
    ended = 0
    for nth, mark in enumerate(marks):
        if found and mark.sample < ended:
            continue
        begin, end = _piece(marks, nth, ended, count, by_leaf=by_leaf)
        said, end_s = said_in(begin, end)
        ended = mark.sample if end_s is None else round(end_s * SAMPLE_RATE_HZ)
        spoken = said.speech_s is not None and abs(said.speech_s - mark.at_s) <= NEAR_S
        found.append((mark.model_copy(update={"spoken": spoken}), said))
    return found


def _piece(
    marks: Sequence[Mark], nth: int, ended: int, count: int, *, by_leaf: bool
) -> tuple[int, int]:
    """Span of samples in which the words of a mark may sound."""
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
