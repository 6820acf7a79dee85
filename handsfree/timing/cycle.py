"""One cycle of a leaf: assigns marks to moments, and computes the five times between them.

Without words the marks count in order. Recognized words name their marks, and the other marks must
fit between them. If they do not fit, the cycle reports what is missing or extra and places nothing
there. If there are as many spoken marks as moments, clatter does not count as a mark. If one or two
words were not understood, the order places them, and a person has to agree.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from enum import StrEnum
from typing import Literal

from handsfree.checks.measurement_uncertainty import TIMED_SD_S
from handsfree.job.quantity import Quantity
from handsfree.job.reading import Subject
from handsfree.job.record import Record
from handsfree.sample_rate import SAMPLE_RATE_HZ
from handsfree.timing.mark import Mark


class Moment(StrEnum):
    """The moments of a cycle in order; the value is the spoken name."""

    STARTS_TO_MOVE = "starts to move"
    BACKCHECK = "backcheck or 80 degrees"
    FULLY_OPEN = "fully open"
    STARTS_TO_CLOSE = "starts to close"
    TEN_DEGREES = "ten degrees"
    LATCHED = "latched"


MOMENTS = tuple(Moment)
WORDS = dict(zip(("go", "check", "open", "closing", "ten", "shut"), MOMENTS, strict=True))
"""Maps the word spoken at each moment to the moment."""
SPANS = {
    Quantity.OPENING_TIME: (Moment.STARTS_TO_MOVE, Moment.BACKCHECK),
    Quantity.TOTAL_OPENING_TIME: (Moment.STARTS_TO_MOVE, Moment.FULLY_OPEN),
    Quantity.HOLD_OPEN_TIME: (Moment.FULLY_OPEN, Moment.STARTS_TO_CLOSE),
    Quantity.CLOSING_TIME: (Moment.STARTS_TO_CLOSE, Moment.TEN_DEGREES),
    Quantity.LATCHING_TIME: (Moment.TEN_DEGREES, Moment.LATCHED),
}
"""The two moments that bound each measured time."""
NEAR_S = 0.25
"""Largest distance between a mark and the start of its word (s): three times the scatter of a
recognizer. A mark farther away belongs to another sound.
"""
MOST_UNHEARD = 2
"""Most unheard words with which a mark without a word is questioned: it may be a sound next to a
missed mark. With more, marks without words count by their order.
"""


ProblemKind = Literal[
    "missing",
    "extra",
    "unmarked",
    "twice",
    "out of order",
    "misheard",
    "unheard",
    "unnamed",
    "too near",
]


class Label(Record):
    """A recognized word, one of WORDS, and its reported start.

    ``start_s`` counts from the first sample of the stream, as the marks do. ``leaf`` is the leaf
    named with it ('left go'); then ``start_s`` is where that name starts.
    """

    word: str
    start_s: float
    leaf: Subject | None = None


class PlacedMark(Record):
    """A mark with a known moment; ``word`` if a word named it."""

    moment: Moment
    mark: Mark
    word: str | None = None


class Interval(Record):
    """One time of a cycle, with standard uncertainties in s.

    ``marks_s`` is the contribution of the two marks. ``uncertainty_s`` adds the observer (SD 0.10 s
    for an interval between two seen events, Am. J. Phys. 87(2), 110, 2019: seen) as the root of the
    sum of squares (GUM 5.1.2: independent components).
    """

    quantity: Quantity
    seconds: float
    marks_s: float
    uncertainty_s: float


class Problem(Record):
    """Reason why part of a cycle has no time.

    ``missing``: fewer marks than ``moments``; ``marks``, if any, could be several of them.
    ``extra``: more marks than moments. ``unmarked``: a word without a sharp sound. ``twice``: two
    marks with the word of one moment. ``out of order``: words against the order of a cycle.
    ``unheard``: a mark without a word where almost all have one. ``misheard``: a word was not
    understood; the order places it, and a person has to agree. For two leaves in one cycle:
    ``unnamed``, a mark without a leaf, and ``too near``, marks that cannot be told apart. ``leaf``
    is set if it is known.
    """

    kind: ProblemKind
    moments: tuple[Moment, ...] = ()
    marks: tuple[Mark, ...] = ()
    leaf: Subject | None = None

    def __str__(self) -> str:
        text = self._text()
        return f"{self.leaf}: {text}" if self.leaf else text

    def _text(self) -> str:
        at = ", ".join(f"{mark.at_s:.2f} s" for mark in self.marks)
        names = ", ".join(self.moments)
        if self.kind == "unheard":
            return f"no word was heard at {at}; the other marks have words"
        if self.kind == "misheard":
            return f"what was said at {at} was not understood; by the order: {names}"
        if self.kind == "unnamed":
            return f"the marks at {at} name no leaf and moment"
        if self.kind == "too near":
            return f"too close together to be told apart, at {at}: {names}"
        if self.kind == "missing" and not self.marks:
            return f"no mark for: {names}"
        if self.kind == "missing":
            short = len(self.moments) - len(self.marks)
            return f"{short} missing among: {names}; the marks at {at} could be several of them"
        if self.kind == "extra":
            between = f"only {len(self.moments)} fit: {names}" if names else "nothing fits there"
            return f"too many marks, at {at}; {between}"
        if self.kind == "unmarked":
            return f"a word without a sharp sound: {names}"
        if self.kind == "twice":
            return f"marked twice, at {at}: {names}"
        return f"the words are not in the order of a cycle, at {at}: {names}"


class Cycle(Record):
    """Result of one run: the placed marks in order, the times, and the problems."""

    placed: tuple[PlacedMark, ...]
    intervals: tuple[Interval, ...]
    problems: tuple[Problem, ...]

    @property
    def complete(self) -> bool:
        """True if all six moments are placed, including those that a person has to confirm."""
        agreed = all(problem.kind == "misheard" for problem in self.problems)
        return len(self.placed) == len(MOMENTS) and agreed

    def interval(self, quantity: Quantity) -> Interval | None:
        """The time of a quantity, or None if one of its marks is missing."""
        return next((each for each in self.intervals if each.quantity is quantity), None)


def cycle_of(marks: Sequence[Mark], labels: Sequence[Label] = ()) -> Cycle:
    """Names the marks and computes the times. Raises ValueError for a label not in WORDS."""
    in_order = sorted(marks, key=lambda mark: mark.sample)
    if len(labels) >= len(MOMENTS) - MOST_UNHEARD:
        in_order = without_clatter(in_order, len(MOMENTS))
    named, problems = _named(in_order, labels)
    if len(named) == len(MOMENTS):
        # Every moment has its word, so a sound without one belongs to none.
        in_order = [in_order[nth] for nth in sorted(named)]
        named = dict(enumerate(named[nth] for nth in sorted(named)))
    placed: list[PlacedMark] = []
    mark_from, moment_from = 0, 0
    for nth, word in [*sorted(named.items()), (len(in_order), None)]:
        moment_to = len(MOMENTS) if word is None else MOMENTS.index(WORDS[word])
        between, moments = in_order[mark_from:nth], MOMENTS[moment_from:moment_to]
        if len(between) == len(moments):
            placed += [
                PlacedMark(moment=moment, mark=mark)
                for moment, mark in zip(moments, between, strict=True)
            ]
        else:
            kind: Literal["missing", "extra"] = (
                "missing" if len(between) < len(moments) else "extra"
            )
            problems.append(Problem(kind=kind, moments=moments, marks=tuple(between)))
        if word is not None:
            placed.append(PlacedMark(moment=WORDS[word], mark=in_order[nth], word=word))
        mark_from, moment_from = nth + 1, moment_to + 1
    wordless = [each for each in placed if each.word is None]
    if not problems and 0 < len(wordless) <= MOST_UNHEARD:
        problems.append(
            Problem(
                kind="misheard" if all(each.mark.spoken for each in wordless) else "unheard",
                moments=tuple(each.moment for each in wordless),
                marks=tuple(each.mark for each in wordless),
            )
        )
    return Cycle(placed=tuple(placed), intervals=_intervals(placed), problems=tuple(problems))


def without_clatter(marks: list[Mark], moments: int) -> list[Mark]:
    """Keeps only the spoken marks if there are as many as moments; otherwise all marks."""
    spoken = [mark for mark in marks if mark.spoken]
    return spoken if len(spoken) == moments else marks


def _named(marks: list[Mark], labels: Sequence[Label]) -> tuple[dict[int, str], list[Problem]]:
    """Word of each named mark, by the mark's index; uncertain words name nothing."""
    named: dict[int, str] = {}
    problems: list[Problem] = []
    for label in labels:
        if label.word not in WORDS:
            raise ValueError(
                f"'{label.word}' is not the word of a moment: expected one of {', '.join(WORDS)}"
            )
        apart_s = {
            nth: abs(mark.at_s - label.start_s)
            for nth, mark in enumerate(marks)
            if nth not in named
        }
        nearest = min(apart_s, key=apart_s.__getitem__, default=None)
        if nearest is None or apart_s[nearest] > NEAR_S:
            problems.append(Problem(kind="unmarked", moments=(WORDS[label.word],)))
        else:
            named[nearest] = label.word
    if not problems and len(marks) == len(MOMENTS):
        named = _without_odd_one(named)
    for word in WORDS:
        same = [nth for nth in sorted(named) if named[nth] == word]
        if len(same) > 1:
            twice = tuple(marks[nth] for nth in same)
            problems.append(Problem(kind="twice", moments=(WORDS[word],), marks=twice))
            for nth in same:
                del named[nth]
    order = sorted(named)
    numbers = [MOMENTS.index(WORDS[named[nth]]) for nth in order]
    if numbers != sorted(numbers):
        problems.append(
            Problem(
                kind="out of order",
                moments=tuple(MOMENTS[number] for number in numbers),
                marks=tuple(marks[nth] for nth in order),
            )
        )
        named = {}
    return named, problems


def _without_odd_one(named: dict[int, str]) -> dict[int, str]:
    """Drops the sixth of six words if only the other five are in their places.

    The dropped word was misheard; the order places its mark, and a person has to confirm.
    """
    in_place = {nth: word for nth, word in named.items() if tuple(WORDS)[nth] == word}
    return in_place if len(in_place) == len(WORDS) - 1 else named


def _intervals(placed: list[PlacedMark]) -> tuple[Interval, ...]:
    at = {each.moment: each.mark for each in placed}
    found = []
    for quantity, (begin, end) in SPANS.items():
        if begin in at and end in at:
            marks_s = math.hypot(at[begin].uncertainty_s, at[end].uncertainty_s)
            found.append(
                Interval(
                    quantity=quantity,
                    seconds=(at[end].sample - at[begin].sample) / SAMPLE_RATE_HZ,
                    marks_s=marks_s,
                    uncertainty_s=math.hypot(marks_s, TIMED_SD_S),
                )
            )
    return tuple(found)
