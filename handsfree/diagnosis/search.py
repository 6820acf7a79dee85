"""The state of a search: the next check, the cause found, and whether it is cured."""

from __future__ import annotations

from typing import Literal

from handsfree.diagnosis.search_tree import YES_NO, Cause, Check, SearchTree
from handsfree.errors import BadValue
from handsfree.job.job import Job
from handsfree.job.record import Record

Outcome = Literal["cured", "not_cured", "left", "not_found"]
"""Outcome of a search; 'left' means that the remedy cannot be done now."""

Phase = Literal["remedy", "learn", "prove"]
"""Stage at a cause: its remedy, the learn cycle after it, or the proof."""

DONE = "done"
"""The answer after the remedy was carried out or the learn cycle was run."""
SKIP = "skip"
"""The answer to a check or a remedy that cannot be done here."""


class Answered(Record):
    """A check and the answer that it got."""

    check: str
    answer: str


class Search(Record):
    """A position in a search: the id of its check or cause, and the answers so far.

    ``cause`` is the cause that was named, ``remedied`` whether its remedy was carried out, and
    ``learned`` whether the learn cycle that ends some remedies was run. ``outcome`` is None until
    the search has ended.
    """

    at: str
    trail: tuple[Answered, ...] = ()
    cause: str | None = None
    remedied: bool = False
    learned: bool = False
    outcome: Outcome | None = None


def begin(tree: SearchTree, job: Job) -> Search:
    """The search at its first check that applies to the opening."""
    return _at(tree, job, Search(at=tree.first), tree.first)


def choices(tree: SearchTree, search: Search) -> tuple[str, ...]:
    """The answers that the search accepts now; none after its end."""
    if search.outcome is not None:
        return ()
    node = tree.node(search.at)
    if isinstance(node, Check):
        return (*node.choices, SKIP)
    return YES_NO if phase(node, search) == "prove" else (DONE, SKIP)


def phase(cause: Cause, search: Search) -> Phase:
    """The stage at a cause: its remedy, the learn cycle, or the proof."""
    if not search.remedied:
        return "remedy"
    return "learn" if cause.learn and not search.learned else "prove"


def answer(tree: SearchTree, job: Job, search: Search, said: str) -> Search:
    """The search after an answer.

    A check takes one of its choices or 'skip': a check that cannot be done ends the search without
    a cause, because what follows would rest on a guess. A cause takes 'done' or 'skip' for its
    remedy and for the learn cycle, and then 'yes' or 'no' for the proof. Raises BadValue for any
    other answer, and after the end of the search.
    """
    if said not in (allowed := choices(tree, search)):
        ended = "the search has ended" if search.outcome else f"'{said}' is not an answer here"
        raise BadValue(
            ended, way_out=f"answer {', '.join(allowed)}" if allowed else "begin another search"
        )
    node = tree.node(search.at)
    if isinstance(node, Cause):
        updates: dict[str, dict[str, object]] = {
            DONE: {"learned" if phase(node, search) == "learn" else "remedied": True},
            SKIP: {"outcome": "left"},
            "yes": {"outcome": "cured"},
            "no": {"outcome": "not_cured"},
        }
        return search.model_copy(update=updates[said])
    answered = search.model_copy(
        update={"trail": (*search.trail, Answered(check=node.id, answer=said))}
    )
    if said == SKIP:
        return answered.model_copy(update={"outcome": "not_found"})
    return _at(tree, job, answered, node.on[said])


def back(tree: SearchTree, job: Job, search: Search) -> Search:
    """The search before its last answer; unchanged before the first one."""
    again = begin(tree, job)
    for answered in search.trail[:-1]:
        again = answer(tree, job, again, answered.answer)
    return again


def longest_path(tree: SearchTree) -> int:
    """The largest number of checks that a search of the tree can take."""

    def below(node_id: str) -> int:
        node = tree.node(node_id)
        return 1 + max(map(below, node.targets)) if isinstance(node, Check) else 0

    return below(tree.first)


def _at(tree: SearchTree, job: Job, search: Search, node_id: str) -> Search:
    node = tree.applicable(node_id, job)
    cause = node.id if isinstance(node, Cause) else None
    return search.model_copy(update={"at": node.id, "cause": cause})
