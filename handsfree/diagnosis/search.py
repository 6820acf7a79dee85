"""A search under way: which check is next, which cause was found, and whether it is cured."""

from __future__ import annotations

from typing import Literal

from handsfree.diagnosis.search_tree import Cause, Check, SearchTree
from handsfree.errors import BadValue
from handsfree.job.job import Job
from handsfree.job.record import Record

Outcome = Literal["cured", "not cured", "not found"]

SKIP = "skip"
"""The answer to a check that cannot be done here."""


class Answered(Record):
    """A check with the answer that it got."""

    check: str
    answer: str


class Search(Record):
    """Where a search stands: the id of its check or cause, and the answers so far.

    ``cause`` is the last cause that was named. ``outcome`` is None until the search has ended.
    """

    at: str
    trail: tuple[Answered, ...] = ()
    cause: str | None = None
    outcome: Outcome | None = None


def begin(tree: SearchTree, job: Job) -> Search:
    """The search at its first check that applies to the opening."""
    return _at(tree, job, Search(at=tree.first), tree.first)


def answer(tree: SearchTree, job: Job, search: Search, said: str) -> Search:
    """The search after an answer.

    At a check it is one of its choices or 'skip': a check that cannot be done ends the search
    without a cause, because what follows would rest on a guess. At a cause it answers the proof,
    'yes' or 'no'. Raises BadValue for any other answer, and when the search has ended.
    """
    if search.outcome is not None:
        raise BadValue("the search has ended", way_out="begin another one")
    node = tree.node(search.at)
    choices = (*node.choices, SKIP) if isinstance(node, Check) else ("yes", "no")
    if said not in choices:
        raise BadValue(f"'{said}' is no answer here", way_out=f"answer {', '.join(choices)}")
    if isinstance(node, Cause):
        return search.model_copy(update={"outcome": "cured" if said == "yes" else "not cured"})
    answered = search.model_copy(
        update={"trail": (*search.trail, Answered(check=node.id, answer=said))}
    )
    if said == SKIP:
        return answered.model_copy(update={"outcome": "not found"})
    return _at(tree, job, answered, node.on[said])


def back(tree: SearchTree, job: Job, search: Search) -> Search:
    """The search before its last answer; the same where there is none."""
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
