"""Checks the gates of a procedure: no dangerous step is reached without what it needs.

A learn cycle, the lock of the settings, people in the path of a leaf, the hand-over and the power
require earlier checks, a caution acknowledged each time, and decisions.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from handsfree.errors import HandsfreeError
from handsfree.procedure.flow_graph import GATE, START, Edge, Graph, Node, reached, step_of
from handsfree.procedure.step import Step
from handsfree.procedure.step_tables import PlacedStep

HAND_OVER = "hand-over"
"""The stage before which every open item needs a decision."""
_WITH_CAUTION = ("learn_cycle", "people", "power_on")
_WITH_NEEDS = ("learn_cycle", "settings_lock")


def danger_faults(placed: Sequence[PlacedStep], graph: Graph) -> Iterator[HandsfreeError]:
    """Yields every dangerous step that a path reaches past an open gate or without its caution."""
    by_id = {place.step.id: place for place in placed}
    learned = {place.step.id for place in placed if place.step.danger == "learn_cycle"}
    for place in placed:
        step = place.step
        if step.danger is not None and place.step.id not in map(step_of, graph):
            continue
        if step.danger in _WITH_NEEDS and not step.needs:
            yield place.fault(
                f"is marked '{step.danger}' and no gate stands before it",
                "danger",
                'needs = ["..."] names the checks that have to be OK first',
            )
        if step.danger in _WITH_CAUTION:
            yield from _caution_faults(place, graph, by_id)
        if step.danger == "hand_over" and step.stage != HAND_OVER:
            yield place.fault(
                f"gives the door back outside the stage '{HAND_OVER}'",
                "danger",
                "no decision is asked for before any other stage",
            )
        for needed in step.needs:
            yield from _asked_before(place, by_id[needed].step, graph)
        if step.danger == "settings_lock" and step.needs and learned:
            checks = [n for n in step.needs if by_id[n].step.waits == "observation"]
            if not any(_on_every_path(learned, check, graph) for check in checks):
                yield place.fault(
                    "locks the settings without a check of the learn cycle",
                    "needs",
                    "need a step that asks how the learn cycle ended",
                )


def _on_every_path(before: set[str], step: str, graph: Graph) -> bool:
    """True if every path to a step passes one of the others, or the gate that leaves it out."""
    passed = reached(graph, [START], without=lambda n: n[-1].removeprefix(GATE) in before)
    return all(node[-1] != step for node in passed)


def _asked_before(place: PlacedStep, check: Step, graph: Graph) -> Iterator[HandsfreeError]:
    """Faults where a gate needs a check that some path to the step does not ask before it."""
    missing = [each for each in check.applies if each not in place.step.applies]
    if missing:
        yield place.fault(
            f"needs '{check.id}', which is not asked at every door where this step is",
            "needs",
            f"'{check.id}' applies only with: {', '.join(missing)}",
        )
        return
    without = _always(graph, check)
    names = {check.id, GATE + check.id}  # if its own gate leaves it out, this one closes too
    passed = reached(without, [START], without=lambda node: node[-1] in names)
    if any(node[-1] == place.step.id for node in passed):
        yield place.fault(
            f"can be reached before '{check.id}' was asked, which it needs",
            "needs",
            "move it behind that step, or lead there by it",
        )


def _always(graph: Graph, check: Step) -> Graph:
    """The graph for doors to which a check applies: wherever it may come next, it does."""
    if not check.applies and check.for_each not in ("plate", "motor"):
        return graph

    def here(edges: tuple[Edge, ...], answer: str) -> bool:
        return any(edge.answer == answer and step_of(edge.to) == check.id for edge in edges)

    return {
        node: tuple(e for e in edges if step_of(e.to) == check.id or not here(edges, e.answer))
        for node, edges in graph.items()
    }


def _caution_faults(
    place: PlacedStep, graph: Graph, by_id: dict[str, PlacedStep]
) -> Iterator[HandsfreeError]:
    """Faults where the caution is not acknowledged before the step, each time it is reached."""
    step = place.step
    if step.caution is not None:
        return

    def cautious(node: Node) -> bool:
        name = node[-1].removeprefix(GATE)
        closes = name == node[-1] or name in step.needs  # leaving out a caution closes the gate
        return closes and name in by_id and by_id[name].step.caution is not None

    nodes = [node for node in graph if node[-1] == step.id]
    again = [edge.to for node in nodes for edge in graph[node]]
    for start, reason in (
        ([START], "can be reached without a caution"),
        (again, "can be walked again without its caution"),
    ):
        if set(nodes) & reached(graph, start, without=cautious):
            yield place.fault(
                f"is marked '{step.danger}' and {reason}",
                "danger",
                "give it a caution, or lead there by a step that has one",
            )
            return
