"""Assigns words to marks: the likeliest alignment of a whole run in the order of a cycle.

For a single word a recognizer is often almost as sure of another. But a run has an order: each
moment occurs once, after the previous one. So the words of all marks are aligned together, each
with its alternatives. If the order contradicts a clearly heard word, the word is kept, and the
cycle ends in a question.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from handsfree.job.reading import LEAF_SUBJECTS
from handsfree.job.record import Record
from handsfree.timing.cycle import NEAR_S, WORDS, Label
from handsfree.timing.mark import Mark

CONTRADICTS, MISSING, UNHEARD, EXTRA = 6.0, 5.0, 4.5, 3.0
"""Costs of an alignment (nats): a clearly heard word that names nothing in it, a moment without a
mark, a mark placed by the order alone, and a mark without a moment.
"""
APART = 1.0
"""Margin below which two alignments tie (nats); in a tie the differing words stay undecided."""

_WORDS = tuple(WORDS)

_Place = tuple[int, int]  # moments passed by the left leaf and by the right one
_Reading = tuple[float, tuple[Label | None, ...]]


class CandidateWord(Record):
    """A possible word at a mark, and its cost in nats over the likeliest one."""

    label: Label
    cost: float = 0.0


class CueCandidates(Record):
    """The possible words at a mark, the likeliest first; empty for a tap.

    ``clearly`` means that the likeliest won even against everything else that people say.
    ``speech_s`` is where speech starts, understood or not; None without speech.
    """

    words: tuple[CandidateWord, ...] = ()
    clearly: bool = False
    speech_s: float | None = None


def align_words(
    marks: Sequence[Mark], said: Sequence[CueCandidates], *, by_leaf: bool
) -> tuple[Label, ...]:
    """Returns the words that name marks, in the order of the marks, each at its own mark.

    ``by_leaf`` means two leaves in one cycle, with a leaf named at each mark. A clearly heard word
    that fits nowhere is returned too, so that the cycle can report the error.
    """
    readings: dict[_Place, list[_Reading]] = {(0, 0): [(0.0, ())]}
    for mark, each in zip(marks, said, strict=True):
        options = [option for option in each.words if _fits(option.label, mark, by_leaf=by_leaf)]
        against = CONTRADICTS if each.clearly else 0.0
        reached: dict[_Place, list[_Reading]] = {}
        for place, many in readings.items():
            steps: list[tuple[_Place, float, Label | None]] = [(place, against + EXTRA, None)]
            if not by_leaf and place[0] < len(_WORDS):
                steps.append(((place[0] + 1, 0), against + UNHEARD, None))
            for option in options:
                to = _passed(place, option.label, by_leaf=by_leaf)
                if to is not None:
                    steps.append((to[0], option.cost + MISSING * to[1], option.label))
            for there, more, label in steps:
                reached.setdefault(there, []).extend(
                    (cost + more, (*labels, label)) for cost, labels in many
                )
        readings = {place: _best(many) for place, many in reached.items()}
    ends = _best(
        (cost + MISSING * _left(place, by_leaf=by_leaf), labels)
        for place, many in readings.items()
        for cost, labels in many
    )
    best = list(ends[0][1])
    if len(ends) > 1 and ends[1][0] - ends[0][0] < APART:
        pairs = zip(ends[0][1], ends[1][1], strict=True)
        best = [one if one == other else None for one, other in pairs]
    heard = [
        each.words[0].label if label is None and each.clearly else label
        for label, each in zip(best, said, strict=True)
    ]
    return tuple(label for label in heard if label is not None)


def _fits(label: Label, mark: Mark, *, by_leaf: bool) -> bool:
    """True if a word is at its mark, and names a leaf if required."""
    return abs(label.start_s - mark.at_s) <= NEAR_S and (label.leaf is not None or not by_leaf)


def _passed(place: _Place, label: Label, *, by_leaf: bool) -> tuple[_Place, int] | None:
    """The place after a moment and the number of skipped moments; None if it was passed already.

    With one leaf its name may or may not be said with the word.
    """
    leaf = LEAF_SUBJECTS.index(label.leaf) if by_leaf and label.leaf in LEAF_SUBJECTS else 0
    moment = _WORDS.index(label.word)
    if moment < place[leaf]:
        return None
    there = list(place)
    there[leaf] = moment + 1
    return (there[0], there[1]), moment - place[leaf]


def _left(place: _Place, *, by_leaf: bool) -> int:
    """Number of moments without a mark."""
    return sum(len(_WORDS) - passed for passed in (place if by_leaf else place[:1]))


def _best(many: Iterable[_Reading]) -> list[_Reading]:
    """The two likeliest alignments with different names."""
    by_labels: dict[tuple[Label | None, ...], float] = {}
    for cost, labels in sorted(many, key=lambda reading: reading[0]):
        by_labels.setdefault(labels, cost)
    return [(cost, labels) for labels, cost in list(by_labels.items())[:2]]
