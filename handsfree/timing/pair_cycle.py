"""One cycle of two leaves at once: every mark names its leaf and its moment ('left go').

The order says little here, because either leaf may come first. Marks without words, and marks so
close together that their words could be swapped, are reported as problems. If one or two words were
not understood and only one leaf and moment remain for each, a person has to confirm.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise, product

from handsfree.job.reading import LEAF_SUBJECTS, Subject
from handsfree.job.record import Record
from handsfree.timing.cycle import (
    MOST_UNHEARD,
    NEAR_S,
    WORDS,
    Cycle,
    Label,
    Problem,
    cycle_of,
    without_clatter,
)
from handsfree.timing.mark import Mark

_ByLeaf = dict[Subject, list[tuple[Mark, Label | None]]]


class PairCycle(Record):
    """Result of a run of two leaves: each leaf's cycle, and their common problems."""

    cycles: Mapping[Subject, Cycle]
    problems: tuple[Problem, ...]

    @property
    def all_problems(self) -> tuple[Problem, ...]:
        """Problems of the marks first, then those of each leaf's cycle."""
        of_leaves = (
            problem.model_copy(update={"leaf": leaf})
            for leaf, cycle in self.cycles.items()
            for problem in cycle.problems
        )
        return (*self.problems, *of_leaves)


def pair_cycle_of(marks: Sequence[Mark], labels: Sequence[Label], min_gap_s: float) -> PairCycle:
    """Assigns each mark to the leaf named with it, and computes the times of both.

    Marks closer together than ``min_gap_s`` are too near, and so are two names at one mark. Raises
    ValueError for a label not in WORDS.
    """
    in_order = sorted(marks, key=lambda mark: mark.sample)
    expected = len(LEAF_SUBJECTS) * len(WORDS)
    if len(labels) >= expected - MOST_UNHEARD:
        in_order = without_clatter(in_order, expected)
    mine: _ByLeaf = {leaf: [] for leaf in LEAF_SUBJECTS}
    problems: list[Problem] = []
    named: dict[int, Label] = {}
    for label in sorted(labels, key=lambda label: label.start_s):
        if label.word not in WORDS:
            raise ValueError(
                f"'{label.word}' is not the word of a moment: expected one of {', '.join(WORDS)}"
            )
        moment = WORDS[label.word]
        apart_s = {nth: abs(mark.at_s - label.start_s) for nth, mark in enumerate(in_order)}
        nearest = min(apart_s, key=apart_s.__getitem__, default=None)
        other = None if nearest is None else named.get(nearest)
        # Two names that begin this close together leave room for one mark only.
        far_s = NEAR_S if other is None else min_gap_s
        if nearest is None or apart_s[nearest] > far_s:
            problems.append(Problem(kind="unmarked", moments=(moment,), leaf=label.leaf))
        elif other is not None:
            both = (WORDS[other.word], moment)
            problems.append(Problem(kind="too near", moments=both, marks=(in_order[nearest],)))
        elif label.leaf in mine:
            named[nearest] = label
            mine[label.leaf].append((in_order[nearest], label))
    unnamed = tuple(mark for nth, mark in enumerate(in_order) if nth not in named)
    # If every moment of both leaves has its words, a sound without any is none of them.
    lacking = expected - len(named)
    all_named = lacking == 0 and not problems
    if all_named:
        unnamed = ()
    elif lacking == len(unnamed) and not problems and (assigned := _assigned(mine, unnamed)):
        mine, unnamed = assigned, ()
    if unnamed:
        problems.append(Problem(kind="unnamed", marks=unnamed))
    counted = [nth for nth in range(len(in_order)) if nth in named or not all_named]
    for first, second in pairwise(counted):
        before, mark = in_order[first], in_order[second]
        if mark.at_s - before.at_s < min_gap_s:
            moments = tuple(WORDS[named[n].word] for n in (first, second) if n in named)
            problems.append(Problem(kind="too near", moments=moments, marks=(before, mark)))
    cycles = {leaf: _cycle(pairs) for leaf, pairs in mine.items()}
    return PairCycle(cycles=cycles, problems=tuple(problems))


def _assigned(mine: _ByLeaf, unnamed: Sequence[Mark]) -> _ByLeaf | None:
    """Assigns marks whose words were not understood, if one assignment is best.

    The best one places the fewest marks by the order alone. Returns None if two are equally good.
    """
    if len(unnamed) > MOST_UNHEARD:
        return None
    fits: dict[int, list[_ByLeaf]] = {}
    for leaves in product(mine, repeat=len(unnamed)):
        trial = {leaf: list(pairs) for leaf, pairs in mine.items()}
        for leaf, mark in zip(leaves, unnamed, strict=True):
            trial[leaf].append((mark, None))
        cycles = [_cycle(pairs) for pairs in trial.values()]
        if all(cycle.complete for cycle in cycles):
            by_order = sum(len(problem.marks) for c in cycles for problem in c.problems)
            fits.setdefault(by_order, []).append(trial)
    best = fits[min(fits)] if fits else []
    return best[0] if len(best) == 1 else None


def _cycle(pairs: Sequence[tuple[Mark, Label | None]]) -> Cycle:
    marks = [mark for mark, _ in pairs]
    return cycle_of(marks, [_at(label, mark) for mark, label in pairs if label])


def _at(label: Label, mark: Mark) -> Label:
    # The label is used up: it must not match another mark of its leaf.
    return label.model_copy(update={"start_s": mark.at_s})
