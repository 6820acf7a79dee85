"""Recognized words, and the marks that they name in a timed run."""

from __future__ import annotations

from collections.abc import Callable

from handsfree.job.opening import Side
from handsfree.job.reading import LEAF_SUBJECT
from handsfree.job.record import Record
from handsfree.timing.cycle import WORDS, Label

MarkOf = Callable[[str], str | None]
"""Maps words to their mark: one of WORDS, CANCEL, or None; 'left go' if a leaf is named too."""
CANCEL = "cancel"
UNKNOWN = "[unk]"
"""Symbol for a stretch of other speech."""
_EARLY_S = 0.16  # a word is reported this much before its beat, with a scatter of 0.04 to 0.08 s


class Word(Record):
    """A word and when it was said, in seconds from the start of the sound."""

    word: str
    start_s: float
    end_s: float


class Recognized(Record):
    """The words of one utterance; the text is empty if nothing was heard.

    ``text`` has '[unk]' in place of other speech.
    """

    text: str
    words: tuple[Word, ...] = ()


def beat_s(word: Word) -> float:
    """Returns the moment at which the beat of a recognized word is expected (s)."""
    return word.start_s + _EARLY_S


def labels_of(heard: Recognized, mark_of: MarkOf, start_s: float) -> tuple[Label, ...]:
    """The recognized words that name marks; ``start_s`` is the start of the sound (s)."""
    labels = []
    before: Word | None = None
    for word in heard.words:
        pair = mark_of(f"{before.word} {word.word}") if before is not None else None
        side, _, mark = (pair or mark_of(word.word) or "").rpartition(" ")
        first = before if pair and before is not None else word
        if mark in WORDS:
            leaf = LEAF_SUBJECT[Side(side)] if side else None
            labels.append(Label(word=mark, start_s=round(start_s + beat_s(first), 3), leaf=leaf))
        before = word
    return tuple(labels)
