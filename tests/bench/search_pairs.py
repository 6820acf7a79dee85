"""Measures the search trees at a door with two hidden faults: right causes, checks, complaints
fixed.

    python -m tests.bench.search_pairs

Every two faults of the simulated parts that change different parts are hidden together in every
door that can have both. Every tree is walked whose complaint one of the two alone leads to. The
technician says only what can be seen, and does what the remedy says. If the complaint remains, the
proof fails and the tree is walked again, three times at most, as in a visit. A cause that is both
faults at once ('both speeds are set low') is right as well. The smallest number of checks is what a
search by information takes to the named cause, if it were alone (tests/bench/search.py).
"""

from __future__ import annotations

import statistics
import sys
from dataclasses import replace
from itertools import combinations
from typing import NamedTuple

from handsfree.diagnosis.search import DONE, answer, begin, choices
from handsfree.diagnosis.search_tree import Check, SearchTree
from handsfree.diagnosis.tree_loader import load_tree, shipped_trees
from handsfree.dialogue.searching import MOST_SEARCHES
from handsfree.job.job import Job
from handsfree.rehearsal.door_faults import FAULTS, repaired
from handsfree.rehearsal.door_parts import Parts
from handsfree.rehearsal.door_symptoms import COMPLAINTS, observe
from tests.bench.search import COVERS, all_faults, doors, faults_for, fewest_checks


class Searched(NamedTuple):
    """One search at a door with two faults: the named cause, and the outcome of the proof."""

    cause: str
    checks: int
    right: bool
    cured: bool


class PairWalked(NamedTuple):
    """The searches of one complaint at a door with two faults."""

    tree: str
    door: str
    faults: tuple[str, str]
    searches: tuple[Searched, ...]

    @property
    def cured(self) -> bool:
        """True if the complaint was gone in the end."""
        return self.searches[-1].cured


def pairs_for(tree: SearchTree, door: str) -> list[tuple[str, str]]:
    """Lists the pairs of faults in different parts, one of which alone leads to the complaint."""
    alone = set(faults_for(tree, door))
    return [
        (one, other)
        for one, other in combinations(all_faults(door), 2)
        if alone & {one, other} and not set(FAULTS[one]) & set(FAULTS[other])
    ]


def walk(tree: SearchTree, door: str, job: Job, faults: tuple[str, str]) -> PairWalked | None:
    """Searches until the complaint is gone; None if the two together do not lead to it."""
    one, other = faults
    parts = replace(Parts(), **FAULTS[one], **FAULTS[other])
    left, searches = set(faults), []
    while COMPLAINTS[tree.name](parts) and len(searches) < MOST_SEARCHES:
        cause, checks = _cause(tree, job, parts)
        covered = {cause, *COVERS.get(cause, ())}
        hidden = {change for fault in left for change in FAULTS[fault].items()}
        together = bool(left) and FAULTS.get(cause, {}).items() <= hidden and cause in FAULTS
        right = bool(left & covered) or together
        parts = repaired(parts, tuple(covered))
        left -= covered
        searches.append(Searched(cause, checks, right, not COMPLAINTS[tree.name](parts)))
    return PairWalked(tree.name, door, faults, tuple(searches)) if searches else None


def _cause(tree: SearchTree, job: Job, parts: Parts) -> tuple[str, int]:
    """Returns the cause that a search names, with its number of checks."""
    search = begin(tree, job)
    while search.cause is None:
        check = tree.node(search.at)
        assert isinstance(check, Check)
        search = answer(tree, job, search, observe(parts, check.sees))
    assert DONE in choices(tree, search)
    return search.cause, len(search.trail)


def all_pairs(language: str = "en") -> list[PairWalked]:
    """Walks every pair of faults in every door through every tree whose complaint one of them leads
    to.
    """
    found = []
    for name in shipped_trees(language):
        tree = load_tree(name, language)
        for door, job in doors().items():
            walked = (walk(tree, door, job, pair) for pair in pairs_for(tree, door))
            found += [each for each in walked if each is not None]
    return found


def fewest_of(walks: list[PairWalked], language: str = "en") -> list[int]:
    """Returns the smallest number of checks to each right cause among its tree's faults, by
    information.
    """
    fewest = {}
    for name in shipped_trees(language):
        tree = load_tree(name, language)
        for door in doors():
            sees = [check.sees for check in tree.checks]
            fewest[name, door] = fewest_checks(faults_for(tree, door), sees)
    return [
        fewest[walked.tree, walked.door][searched.cause]
        for walked in walks
        for searched in walked.searches
        if searched.right and searched.cause in fewest[walked.tree, walked.door]
    ]


def main() -> int:
    """Prints the table; exit code 1 if a search named a wrong cause as fixed."""
    walks = all_pairs()
    searches = [searched for walked in walks for searched in walked.searches]
    print("tree                       pairs  searches  right  gone in the end  checks: median")
    for name in (*shipped_trees(), "all"):
        mine = [walked for walked in walks if name in (walked.tree, "all")]
        made = [searched for walked in mine for searched in walked.searches]
        print(
            f"{name:24} {len(mine):7} {len(made):9} {sum(s.right for s in made):6}"
            f" {sum(walked.cured for walked in mine):16}"
            f" {statistics.median(s.checks for s in made):15g}"
        )
    share = 100 * sum(s.right for s in searches) / len(searches)
    print(f"right cause named: {share:.1f} percent of {len(searches)} searches")
    print(f"fewest possible for a single fault: median {statistics.median(fewest_of(walks)):g}")
    wrong = [searched for searched in searches if searched.cured and not searched.right]
    print(f"a wrong cause that counted as cured: {len(wrong)}")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
