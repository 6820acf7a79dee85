"""The graph of a procedure: the possible targets of every answer, up to the close-out.

It has more paths than any one door: a step with conditions may be present or absent, regardless of
the others. So a rule that holds on every path holds in every visit.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import NamedTuple

from handsfree.procedure.step import BAD_ANSWERS, CURED, HOLD, Step

Node = tuple[str, ...]
"""A node of the graph: the steps that led to its branch, outermost first, then its own id."""

START: Node = ("start",)
CLOSE: Node = ("close-out",)
GATE, HELD = "gate of ", "hold of "


class Edge(NamedTuple):
    """An edge from a node. ``counted`` is True if it can be taken only a limited number of times
    in a visit.
    """

    answer: str
    to: Node
    counted: bool = False


Graph = dict[Node, tuple[Edge, ...]]


class _Builder:
    """Follows every answer; a branch is copied for each step that leads to it."""

    def __init__(self, steps: Sequence[Step]) -> None:
        self._steps = {step.id: step for step in steps}
        self._walks: dict[str | None, list[Step]] = {}
        for step in steps:
            self._walks.setdefault(step.branch, []).append(step)
        self._place = {step.id: n for walk in self._walks.values() for n, step in enumerate(walk)}
        self.graph: Graph = {}

    def build(self) -> Graph:
        self._follow(START, [Edge("", to) for to in self._first((), self._walks.get(None, []))])
        return self.graph

    def _follow(self, node: Node, edges: Iterable[Edge]) -> None:
        todo = [(node, tuple(dict.fromkeys(edges)))]
        while todo:
            at, found = todo.pop()
            self.graph[at] = found
            for edge in found:
                if edge.to not in self.graph:
                    self.graph[edge.to] = ()
                    todo.append((edge.to, tuple(dict.fromkeys(self._edges(edge.to)))))

    def _edges(self, node: Node) -> Iterator[Edge]:
        if node == CLOSE:
            return
        callers, name = node[:-1], node[-1]
        step = self._steps[name.removeprefix(GATE).removeprefix(HELD)]
        own = (*callers, step.id)
        if name.startswith(GATE):
            yield from self._gate(own, step)
        elif name.startswith(HELD):
            yield Edge("put_right", own, counted=True)
            yield from self._tagged()
            yield from (Edge("accepted", to) for to in self._after(own))
        else:
            yield from self._answers(own, step)

    def _answers(self, node: Node, step: Step) -> Iterator[Edge]:
        counted = step.at_most is not None
        for answer in step.answers:
            if answer not in step.on:
                if answer == CURED:
                    yield Edge(answer, node, counted=True)
                    continue
                yield from (Edge(answer, to) for to in self._after(node))
                continue
            yield from (
                Edge(answer, to, counted) for to in self._leads(node, step.on[answer], answer)
            )
            if step.then is not None:
                yield from (Edge(answer, to) for to in self._leads(node, step.then, answer))

    def _gate(self, node: Node, step: Step) -> Iterator[Edge]:
        yield Edge("open", node)
        yield from (Edge("left_out", to) for to in self._after(node))
        yield from self._tagged()
        for needed in step.needs:
            check = self._steps.get(needed)
            if check is None or check.waits not in ("observation", "reading"):
                continue  # it leaves nothing to repair
            if check.branch is None:
                yield Edge("put_right", (needed,), counted=True)
            elif check.branch == step.branch:
                yield Edge("put_right", (*node[:-1], needed), counted=True)

    def _tagged(self) -> Iterator[Edge]:
        handed = [step for step in self._walks.get(None, []) if step.stage == "hand-over"]
        return (Edge("tagged_out", to) for to in self._first((), handed))

    def _leads(self, node: Node, target: str, answer: str) -> Iterator[Node]:
        """The possible nodes of a target; a refused target leads to the next step."""
        callers, step = node[:-1], self._steps[node[-1]]
        there = self._steps.get(target)
        if target == HOLD and answer in (*BAD_ANSWERS, CURED):
            yield (*callers, HELD + step.id)
        elif target in self._walks and target not in (step.branch, *self._branches(callers)):
            yield from self._first(node, self._walks[target])
        elif there is not None and there.branch in (None, step.branch):
            walk = self._walks[there.branch]
            rest = walk[self._place[there.id] :]
            yield from self._first(callers if there.branch is not None else (), rest)
        else:
            yield from self._after(node)

    def _branches(self, callers: Node) -> list[str | None]:
        return [self._steps[caller].branch for caller in callers]

    def _after(self, node: Node) -> Iterator[Node]:
        """The default successor: the next step, or the walk that was left."""
        callers, step = node[:-1], self._steps[node[-1]]
        walk = self._walks[step.branch]
        yield from self._first(callers, walk[self._place[step.id] + 1 :])

    def _first(self, callers: Node, rest: Sequence[Step]) -> Iterator[Node]:
        for step in rest:
            yield (*callers, GATE + step.id if step.needs else step.id)
            if not step.applies and step.for_each not in ("plate", "motor"):
                return
        if callers:
            yield from self._after(callers)
        else:
            yield CLOSE


def graph_of(steps: Sequence[Step]) -> Graph:
    """The graph of the steps of a procedure, in the order of the walk; ids are unique."""
    return _Builder(steps).build()


def step_of(node: Node) -> str:
    """The id of the step that a node belongs to."""
    return node[-1].removeprefix(GATE).removeprefix(HELD)


def is_gate(node: Node) -> bool:
    """True if the node is a hold or the gate before a step, not a step itself."""
    return node[-1].startswith((GATE, HELD))


def reached(
    graph: Graph, start: Iterable[Node], *, without: Callable[[Node], bool] = lambda node: False
) -> set[Node]:
    """The nodes reachable from ``start`` without passing a ``without`` node."""
    seen: set[Node] = set()
    todo = [node for node in start if not without(node)]
    while todo:
        node = todo.pop()
        if node not in seen:
            seen.add(node)
            todo += [edge.to for edge in graph[node] if not without(edge.to)]
    return seen


def uncounted_circle(graph: Graph) -> tuple[Node, Edge] | None:
    """An edge that closes a loop which a visit could repeat without end, or None."""
    state: dict[Node, bool] = {}
    for root in graph:
        if root in state:
            continue
        stack = [(root, iter(graph[root]))]
        state[root] = True
        while stack:
            node, edges = stack[-1]
            for edge in edges:
                if edge.counted:
                    continue
                if state.get(edge.to):
                    return node, edge
                if edge.to not in state:
                    state[edge.to] = True
                    stack.append((edge.to, iter(graph[edge.to])))
                    break
            else:
                state[node] = False
                stack.pop()
    return None
