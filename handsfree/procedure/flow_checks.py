"""Proves properties of a procedure's graph: it ends, and every step can be reached.

Each rule must hold on every path of :mod:`handsfree.procedure.flow_graph`:

- where an answer leads exists, and is a branch, or a step of the same walk;
- every path reaches the close-out, and every circle has a count and a way out of it;
- every step, and with it every branch, can be reached.

The gates before what is dangerous are checked by :mod:`handsfree.procedure.danger_checks`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from handsfree.errors import HandsfreeError
from handsfree.procedure.danger_checks import danger_faults
from handsfree.procedure.flow_graph import (
    CLOSE,
    START,
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


def flow_faults(placed: Sequence[PlacedStep]) -> Iterator[HandsfreeError]:
    """Yields the faults in the targets of answers; the steps are in the order of the walk."""
    steps = [place.step for place in placed]
    if len({step.id for step in steps}) < len(steps):
        return  # reported as a separate fault
    targets = list(_target_faults(placed))
    yield from targets
    if targets:
        return
    graph = graph_of(steps)
    yield from _end_faults(placed, graph)
    yield from _dead_faults(placed, graph)
    yield from danger_faults(placed, graph)


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
    """Faults: a step from which no path ends the visit, or a loop without a count or a way out."""
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
