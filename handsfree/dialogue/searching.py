"""Searches for a cause within a visit: offers, begins, answers and ends the search."""

from __future__ import annotations

from functools import cache

from handsfree.diagnosis.search import Search, answer, begin, choices, phase
from handsfree.diagnosis.search_tree import Cause, SearchTree
from handsfree.diagnosis.tree_loader import load_tree, shipped_trees
from handsfree.dialogue.decisions import tree_of
from handsfree.dialogue.turn import Turn
from handsfree.journal.fault_events import FaultWorked
from handsfree.journal.search_events import SearchAnswered, SearchEnded, SearchStarted
from handsfree.procedure.step import Task
from handsfree.visit_record.faults import OTHERS_DO, latest_occurrence
from handsfree.visit_record.progress import RunningSearch

__all__ = ["asked", "choices", "complaint_of", "end", "give", "start", "tree_for", "under_way"]


def tree_for(turn: Turn, complaint: str) -> SearchTree | None:
    """The search tree for a complaint ('it_slams' or the name of a tree), None without one."""
    return _shipped(complaint.replace("_", "-"), turn.words.language)


@cache
def _shipped(name: str, language: str) -> SearchTree | None:
    """A shipped tree, read only once: a turn asks for it several times."""
    return load_tree(name, language) if name in shipped_trees(language) else None


MOST_SEARCHES = 3
"""Largest number of times that steps offer the search for one cause; after that the answer counts
without a search.
"""


def complaint_of(turn: Turn, task: Task) -> str | None:
    """The complaint whose search a task offers: that of its step, or the chosen one."""
    tree = tree_of(turn, task.step)
    often = turn.state.progress.searched.get(tree or "", 0) >= MOST_SEARCHES
    return tree if not often else None


def start(turn: Turn, tree: SearchTree) -> None:
    """Records the beginning of a search."""
    turn.keep(SearchStarted(tree=tree.name, sha256=tree.sha256, title=tree.title))


def under_way(turn: Turn) -> tuple[SearchTree, Search] | None:
    """The tree and the position of the running search; None without one.

    If the tree has changed since the search began, for instance through an update during a break,
    the search begins again, because its answers may belong to other questions.
    """
    running: RunningSearch | None = turn.state.progress.search
    tree = tree_for(turn, running.tree) if running is not None else None
    if running is None or tree is None:
        return None
    search = begin(tree, turn.job)
    if running.sha256 == tree.sha256:
        for said in running.answers:
            search = answer(tree, turn.job, search, said)
    return tree, search


def give(turn: Turn, said: str) -> Search | None:
    """Records an answer and returns the new position in the search. Raises BadValue."""
    found = under_way(turn)
    if found is None:
        return None
    tree, search = found
    after = answer(tree, turn.job, search, said)
    turn.keep(SearchAnswered(at=search.at, asked=asked(turn, tree, search), answer=said))
    if after.outcome is not None:
        end(turn, tree, after)
    return after


def end(turn: Turn, tree: SearchTree, search: Search | None) -> None:
    """Records the end of a search; None if it was stopped."""
    cause = tree.node(search.cause) if search is not None and search.cause is not None else None
    named = cause if isinstance(cause, Cause) else None
    outcome = (search.outcome if search is not None else None) or "stopped"
    turn.keep(
        SearchEnded(
            tree=tree.name,
            title=tree.title,
            outcome=outcome,
            cause=named.id if named else None,
            found=named.found if named else None,
            work=named.work if named else None,
        )
    )
    if named is not None and outcome in ("cured", "not_cured"):
        _explain_step(turn, named)


def _explain_step(turn: Turn, cause: Cause) -> None:
    """Records the cause and the work for the fault whose step offered the search."""
    task = turn.task
    if task is None or turn.between or task.step.search is None or cause.work == OTHERS_DO:
        return
    key = f"{task.subject}/{task.step.fact}"
    fault = latest_occurrence(turn.state.progress.faults, key)
    if fault is not None and fault.open:
        turn.keep(FaultWorked(key=key, work=cause.work, cause=cause.found))


def asked(turn: Turn, tree: SearchTree, search: Search) -> str:
    """The current question of the search.

    It is the check, the remedy, the learn cycle, or the proof.
    """
    node = tree.node(search.at)
    if not isinstance(node, Cause):
        return node.ask
    match phase(node, search):
        case "remedy":
            return f"{node.found} {node.remedy}"
        case "learn":
            return learn_again(turn)
        case "prove":
            return node.prove


def learn_again(turn: Turn) -> str:
    """The request to repeat the learn cycle, in the words of the controller's guide."""
    how = turn.guide.learn.start if turn.guide is not None else turn.words.say("search_learn_how")
    return turn.words.say("search_learn", how=how)
