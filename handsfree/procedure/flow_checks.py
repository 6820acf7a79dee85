"""Proofs over the graph of a procedure: it ends, all of it can be walked, no gate is passed open.

Each rule holds on every path of :mod:`handsfree.procedure.flow_graph`:

- where an answer leads exists, and is a branch, or a step of the same walk;
- every path reaches the close-out, and every circle has a count and a way out of it;
- every step, and with it every branch, can be reached;
- a learn cycle, the lock of the settings, people in the path and the hand-over stand behind what
  they need: checks that were asked before, a caution acknowledged each time, decisions made.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from handsfree.errors import HandsfreeError
from handsfree.procedure.flow_graph import (
    CLOSE,
    GATE,
    START,
    Edge,
    Graph,
    Node,
    graph_of,
    is_gate,
    reached,
    step_of,
    uncounted_circle,
)
from handsfree.procedure.step import HOLD, Step
from handsfree.procedure.step_tables import PlacedStep
from handsfree.toml_source import nearest

HAND_OVER = "hand-over"
"""The stage before which a decision is asked for on everything that is open."""
_WITH_CAUTION = ("learn_cycle", "people")
_WITH_NEEDS = ("learn_cycle", "settings_lock")


def flow_faults(placed: Sequence[PlacedStep]) -> Iterator[HandsfreeError]:
    """Yields the faults of where answers lead; the steps are in the order of the walk."""
    steps = [place.step for place in placed]
    if len({step.id for step in steps}) < len(steps):
        return  # a fault of its own
    targets = list(_target_faults(placed))
    yield from targets
    if targets:
        return
    graph = graph_of(steps)
    yield from _end_faults(placed, graph)
    yield from _dead_faults(placed, graph)
    yield from _danger_faults(placed, graph)


def _target_faults(placed: Sequence[PlacedStep]) -> Iterator[HandsfreeError]:
    steps = {place.step.id: place.step for place in placed}
    branches = {place.step.branch for place in placed} - {None}
    led = {
        branch: {to for step in steps.values() if step.branch == branch for to in _targets(step)}
        - {branch}
        for branch in branches
    }
    for place in placed:
        step = place.step
        if step.branch in steps:
            yield place.fault(
                f"has the branch '{step.branch}', which is the id of a step too",
                "branch",
                "give the branch another name",
            )
        for key, target in _keyed_targets(step):
            if target == HOLD or (target in branches and target != step.branch):
                continue
            there = steps.get(target)
            if target in branches:
                yield place.fault(
                    f"leads to '{target}', the branch that it stands in",
                    key,
                    "name the step of the branch that is walked again",
                )
            elif there is None:
                known = [HOLD, *sorted(str(each) for each in branches), *steps]
                yield place.fault(
                    f"leads to '{target}', which is not there", key, nearest(target, known)
                )
            elif there.branch not in (None, step.branch):
                yield place.fault(
                    f"leads into the branch '{there.branch}' at '{target}'",
                    key,
                    f"lead to the branch '{there.branch}', or to a step outside it",
                )
        if step.branch is not None and _leads_to_itself(step.branch, led):
            yield place.fault(
                f"stands in the branch '{step.branch}', which leads to itself by another branch",
                "branch",
                "name the step where it is walked again",
            )
        yield from _need_faults(place, steps)


def _need_faults(place: PlacedStep, steps: dict[str, Step]) -> Iterator[HandsfreeError]:
    for needed in place.step.needs:
        check = steps.get(needed)
        if check is None:
            yield place.fault(
                f"needs '{needed}', which is not there", "needs", nearest(needed, steps)
            )
        elif check.branch not in (None, place.step.branch):
            yield place.fault(
                f"needs '{needed}', which stands in the branch '{check.branch}'",
                "needs",
                "need a step that is asked on every visit",
            )


def _keyed_targets(step: Step) -> Iterator[tuple[str, str]]:
    yield from (("on", target) for target in dict.fromkeys(step.on.values()))
    if step.then is not None:
        yield "then", step.then


def _targets(step: Step) -> set[str]:
    return {target for _, target in _keyed_targets(step)}


def _leads_to_itself(branch: str, led: dict[str | None, set[str]]) -> bool:
    seen: set[str] = set()
    todo = list(led[branch])
    while todo:
        at = todo.pop()
        if at == branch:
            return True
        if at in led and at not in seen:
            seen.add(at)
            todo += led[at]
    return False


def _end_faults(placed: Sequence[PlacedStep], graph: Graph) -> Iterator[HandsfreeError]:
    """A step from which no path ends the visit, or a circle without a count or a way out."""
    by_id = {place.step.id: place for place in placed}
    backward: dict[Node, list[Node]] = {node: [] for node in graph}
    for node, edges in graph.items():
        for edge in edges:
            backward[edge.to].append(node)
    ends = {CLOSE} if CLOSE in backward else set()
    todo = list(ends)
    while todo:
        for before in backward[todo.pop()]:
            if before not in ends:
                ends.add(before)
                todo.append(before)
    lost = [
        place for place in placed if any(step_of(n) == place.step.id for n in set(graph) - ends)
    ]
    if lost:
        yield lost[0].fault(
            "stands on a path that never reaches the close-out",
            "on" if lost[0].step.on else "id",
            "let one of its answers lead out of the circle",
        )
        return
    if (circle := uncounted_circle(graph)) is None:
        return
    place, edge = by_id[step_of(circle[0])], circle[1]
    if place.step.at_most is None:
        yield place.fault(
            f"leads back to '{step_of(edge.to)}' without a count",
            "on" if place.step.on else "id",
            'add at_most = 3 and then = "..."',
        )
    else:
        yield place.fault(
            f"leads back to '{step_of(edge.to)}' even after at_most, so nothing leads out",
            "then",
            "then has to lead forward, or to a hold",
        )


def _dead_faults(placed: Sequence[PlacedStep], graph: Graph) -> Iterator[HandsfreeError]:
    alive = {step_of(node) for node in reached(graph, [START]) if not is_gate(node)}
    named: set[str] = set()
    for place in placed:
        step = place.step
        if step.id in alive or step.branch in named:
            continue
        branch = step.branch
        if branch is not None and not any(
            p.step.branch == branch for p in placed if p.step.id in alive
        ):
            named.add(branch)
            yield place.fault(
                f"stands in the branch '{branch}', which nothing leads to",
                "branch",
                "let an answer lead to it, or remove it",
            )
        else:
            yield place.fault(
                "can never be reached: every answer before it leads past it",
                "id",
                "let an answer lead to it, or remove it",
            )


def _danger_faults(placed: Sequence[PlacedStep], graph: Graph) -> Iterator[HandsfreeError]:
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
    """True if every path to a step passes one of others, or the gate that leaves it out."""
    passed = reached(graph, [START], without=lambda n: n[-1].removeprefix(GATE) in before)
    return all(node[-1] != step for node in passed)


def _asked_before(place: PlacedStep, check: Step, graph: Graph) -> Iterator[HandsfreeError]:
    """What a gate needs is asked before it, on every path on which the gated step is there."""
    missing = [each for each in check.applies if each not in place.step.applies]
    if missing:
        yield place.fault(
            f"needs '{check.id}', which is not asked at every door where this step is",
            "needs",
            f"'{check.id}' applies only with: {', '.join(missing)}",
        )
        return
    without = _always(graph, check)
    names = {check.id, GATE + check.id}  # what its own gate leaves out closes this one too
    passed = reached(without, [START], without=lambda node: node[-1] in names)
    if any(node[-1] == place.step.id for node in passed):
        yield place.fault(
            f"can be reached before '{check.id}' was asked, which it needs",
            "needs",
            "move it behind that step, or lead there by it",
        )


def _always(graph: Graph, check: Step) -> Graph:
    """The graph of the doors that a check applies to: where it may be next, it is next."""
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
    """A caution is acknowledged before the step, and once more each time it is walked again."""
    step = place.step
    if step.caution is not None:
        return

    def cautious(node: Node) -> bool:
        name = node[-1].removeprefix(GATE)
        closes = (
            name == node[-1] or name in step.needs
        )  # a caution that is left out closes the gate
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
