"""Measures the search trees at a door with a hidden fault: the right cause, and the number of
checks.

    python -m tests.bench.search

Every fault of the simulated parts (handsfree/rehearsal/door_parts.py) is hidden in every kind of
door that can have it. Every tree whose complaint fits the fault is then walked with the answers of
a technician who says only what can be seen. The smallest possible number of checks is that of a
search that knows the parts and always makes the check with the largest information gain (all faults
equally likely, all checks of the tree available). The tree does not know the parts.
"""

from __future__ import annotations

import math
import statistics
import sys
from collections import Counter
from collections.abc import Iterable
from typing import NamedTuple

from handsfree.diagnosis.search import DONE, answer, begin, choices
from handsfree.diagnosis.search_tree import Check, SearchTree
from handsfree.diagnosis.tree_loader import load_tree, shipped_trees
from handsfree.job.job import Job, Sheet
from handsfree.job.opening import Leaf, Lock, Opening, Side, Swing
from handsfree.rehearsal.door_faults import FAULTS, repaired, with_fault
from handsfree.rehearsal.door_symptoms import COMPLAINTS, observe

COVERS: dict[str, tuple[str, ...]] = {
    "air-pressure": ("wind-stops-it",),
    "arm-loose": ("arm-slips",),
    "inactive-leaf-not-shut": ("wind-holds-inactive",),
    "lock-does-not-release": (
        *("latch-presses", "strike-output-not-set", "strike-wire", "strike-worn"),
        *("strike-wrong-voltage", "unlock-delay-too-short", "magnet-stuck", "release-wire"),
        *("magnet-output-not-set", "leaf-loads-magnet"),
    ),
    "no-power": ("breaker-off", "no-supply", "power-supply-dead"),
    "opening-speed-too-high": ("settings-not-saved",),
    "plate-or-wire": (
        *("battery-empty", "contact-broken", "plate-stuck", "transmitter-not-taught"),
        "wire-broken",
    ),
    "wind-holds-inactive": ("inactive-leaf-not-shut",),
    "wind-opens-it": ("push-and-go-too-light", "spring-does-not-hold"),
}
"""Causes that a tree names more broadly than the fault; their remedy covers all of these."""

_OF_A_MAGNET = {
    *("magnet-stuck", "magnet-weak", "armature-off", "magnet-supply", "magnet-output-not-set"),
    *("release-wire", "exit-device-dead", "leaf-loads-magnet"),
}
_OF_EVERY_LOCK = {"unlock-delay-too-short"}
_OF_A_STRIKE = {
    *(set(COVERS["lock-does-not-release"]) - _OF_A_MAGNET - _OF_EVERY_LOCK),
    *("strike-stays-released", "latch-misses", "bolt-sticks"),
}
_OF_SENSORS = {fault for fault in FAULTS if fault.startswith("sensor")}
_OF_A_PAIR = {
    *("link-cable-off", "flush-bolt-holds", "coordinator-worn", "closing-delay-too-short"),
    *("wind-holds-inactive", "inactive-leaf-not-shut", "set-as-single", "motors-crossed"),
}
_TREES_OF = {
    "leaf-does-not-follow": ("pair",),
    "wrong-order": ("pair",),
    "strike-hangs": ("pair",),
    "magnet-fails": ("magnet",),
}
"""Trees that lead nowhere at other doors."""
_NOT_AT = {
    "single": _OF_A_STRIKE | _OF_A_MAGNET | _OF_EVERY_LOCK | _OF_SENSORS | _OF_A_PAIR,
    "pair": _OF_A_MAGNET,
    "magnet": _OF_A_STRIKE | _OF_SENSORS | _OF_A_PAIR,
}
"""Faults that a door cannot have."""


class Walked(NamedTuple):
    """One search: the cause that it named, the number of checks, and the outcome of the proof."""

    tree: str
    door: str
    fault: str
    cause: str | None
    checks: int
    fewest: int
    cured: bool

    @property
    def right(self) -> bool:
        """True if the cause is the hidden fault, or covers it."""
        return self.cause == self.fault or self.fault in COVERS.get(self.cause or "", ())


def doors() -> dict[str, Job]:
    """A single leaf without lock and sensors, a pair with a strike and sensors, and a single leaf
    with a magnetic lock.
    """
    locks = {"single": Lock.NONE, "pair": Lock.STRIKE, "magnet": Lock.MAGNETIC_LOCK}
    found = {}
    for door, lock in locks.items():
        pair = door == "pair"
        leaves = (Side.LEFT, Side.RIGHT) if pair else (Side.LEFT,)
        opening = Opening(
            name=f"search {door}",
            seen_from="corridor",
            swing=Swing.SAME_WAY if pair else Swing.SINGLE,
            leaves=tuple(Leaf(name=side) for side in leaves),
            motors=(),
            lock=lock,
            sensors=pair,
        )
        found[door] = Job.open(
            Sheet(reference="bench", site="bench", technician="bench", opening=opening)
        )
    return found


def faults_for(tree: SearchTree, door: str) -> list[str]:
    """Lists the faults that the door can have and that lead to the complaint."""
    if door not in _TREES_OF.get(tree.name, (door,)):
        return []
    return [fault for fault in all_faults(door) if COMPLAINTS[tree.name](with_fault(fault))]


def all_faults(door: str) -> list[str]:
    """Lists the faults that a door can have."""
    return [fault for fault in FAULTS if fault not in _NOT_AT[door]]


def walk(tree: SearchTree, door: str, job: Job, fault: str, fewest: int) -> Walked:
    """Searches for a hidden fault, with the answers of what can be seen."""
    parts = with_fault(fault)
    search = begin(tree, job)
    while search.cause is None:
        check = tree.node(search.at)
        assert isinstance(check, Check)
        search = answer(tree, job, search, observe(parts, check.sees))
    after = repaired(parts, (search.cause, *COVERS.get(search.cause, ())))
    cured = not COMPLAINTS[tree.name](after)
    while DONE in choices(tree, search):
        search = answer(tree, job, search, DONE)
    search = answer(tree, job, search, "yes" if cured else "no")
    return Walked(tree.name, door, fault, search.cause, len(search.trail), fewest, cured)


def fewest_checks(faults: list[str], sees: Iterable[str]) -> dict[str, int]:
    """Returns the number of checks for each fault if each check has the largest information gain.

    Faults that no check distinguishes count as found together.
    """
    names = list(sees)
    table = {fault: {name: observe(with_fault(fault), name) for name in names} for fault in faults}

    def split(left: list[str], done: int) -> dict[str, int]:
        best = max(names, key=lambda name: _entropy(table[f][name] for f in left), default=None)
        if best is None or _entropy(table[f][best] for f in left) == 0:
            return dict.fromkeys(left, done)
        found: dict[str, int] = {}
        for value in {table[f][best] for f in left}:
            found |= split([f for f in left if table[f][best] == value], done + 1)
        return found

    return split(faults, 0)


def _entropy(values: Iterable[str]) -> float:
    counts = Counter(values)
    total = sum(counts.values())
    return -sum(n / total * math.log2(n / total) for n in counts.values())


def all_walks(language: str = "en") -> list[Walked]:
    """Walks every fault in every door through every tree whose complaint it leads to."""
    found = []
    for name in shipped_trees(language):
        tree = load_tree(name, language)
        for door, job in doors().items():
            faults = faults_for(tree, door)
            sees = [check.sees for check in tree.checks]
            fewest = fewest_checks(faults, sees)
            found += [walk(tree, door, job, fault, fewest[fault]) for fault in faults]
    return found


def main() -> int:
    """Prints the table; exit code 1 if a search named a wrong cause as fixed."""
    walks = all_walks()
    print(
        "tree                     searches  right  checks: median  worst  fewest possible: median"
    )
    for name in (*shipped_trees(), "all"):
        mine = [walked for walked in walks if name in (walked.tree, "all")]
        print(
            f"{name:24} {len(mine):8} {sum(w.right for w in mine):6}"
            f" {statistics.median(w.checks for w in mine):15g} {max(w.checks for w in mine):6}"
            f" {statistics.median(w.fewest for w in mine):24g}"
        )
    wrong = [walked for walked in walks if walked.cured and not walked.right]
    for walked in wrong:
        print(f"cured by a wrong cause: {walked}")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
