"""The graph of a procedure, compared with networkx (BSD)."""

from __future__ import annotations

from itertools import pairwise

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from handsfree.language.wording import languages
from handsfree.procedure.flow_graph import (
    CLOSE,
    START,
    Edge,
    Graph,
    graph_of,
    reached,
    step_of,
    uncounted_circle,
)
from handsfree.procedure.loader import load_procedure, parse_procedure, shipped_procedures

from .test_flow_checks import SMALL


def judge(graph: Graph, *, counted: bool = True) -> nx.DiGraph:
    judged = nx.DiGraph()
    judged.add_nodes_from(graph)
    judged.add_edges_from(
        (node, edge.to)
        for node, edges in graph.items()
        for edge in edges
        if counted or not edge.counted
    )
    return judged


def agrees(graph: Graph) -> None:
    """Compares reachability, mandatory nodes and uncounted circles with networkx."""
    judged = judge(graph)
    assert reached(graph, [START]) == nx.descendants(judged, START) | {START}
    above = nx.immediate_dominators(judged, START)
    dominators = {START: {START}}

    def passed(node: tuple[str, ...]) -> set[tuple[str, ...]]:
        if node not in dominators:
            dominators[node] = {node} | passed(above[node])
        return dominators[node]

    nodes = reached(graph, [START])
    for wall in nodes - {START}:
        behind = nodes - reached(graph, [START], without=lambda node, wall=wall: node == wall)
        assert behind == {node for node in nodes if wall in passed(node)}
    acyclic = nx.is_directed_acyclic_graph(judge(graph, counted=False))
    assert (uncounted_circle(graph) is None) is acyclic


@pytest.mark.slow
@pytest.mark.parametrize("name", shipped_procedures())
def test_a_shipped_procedure_is_as_networkx_sees_it(name: str) -> None:
    agrees(graph_of(load_procedure(name).steps))


@pytest.mark.parametrize("language", languages())
@pytest.mark.parametrize("name", shipped_procedures())
def test_every_path_of_a_shipped_procedure_ends_in_the_close_out(language: str, name: str) -> None:
    graph = graph_of(load_procedure(name, language=language).steps)
    judged = judge(graph)
    assert nx.ancestors(judged, CLOSE) | {CLOSE} == set(graph)
    forward = judge(graph, counted=False)
    assert nx.is_directed_acyclic_graph(forward)
    assert [node for node in forward if forward.out_degree(node) == 0] == [CLOSE]


NODES = [START, CLOSE, *((name,) for name in "abcdefgh")]
GRAPHS = st.lists(
    st.tuples(st.sampled_from(NODES), st.sampled_from(NODES), st.booleans()), max_size=30
).map(
    lambda edges: {
        node: tuple(Edge("", to, counted) for at, to, counted in edges if at == node)
        for node in NODES
    }
)


@pytest.mark.slow
@given(GRAPHS)
def test_any_graph_is_as_networkx_sees_it(graph: Graph) -> None:
    agrees(graph)


def small() -> Graph:
    return graph_of(parse_procedure(SMALL, "small.toml", "0" * 64).steps)


def test_an_answer_leads_to_a_branch_and_back_with_a_count() -> None:
    graph = small()
    bad = [edge for edge in graph["learned",] if edge.answer == "not_ok"]
    assert bad[0] == Edge("not_ok", ("learned", "mend"), counted=True)
    assert [edge.to for edge in bad[1:]] == [("hold of learned",)]
    assert Edge("done", ("gate of learn",)) in graph["learned", "mend"]
    # After a remedy that was skipped the visit goes on behind the step that led there.
    assert Edge("skipped", ("gate of lock",)) in graph["learned", "mend"]


def test_a_gate_is_open_or_the_step_is_left_out() -> None:
    graph = small()
    ways = {edge.answer: edge.to for edge in graph["gate of lock",]}
    assert ways == {
        "open": ("lock",),
        "left_out": ("opened",),
        "tagged_out": ("opened",),
        "put_right": ("learned",),
    }


def test_a_step_with_conditions_may_be_missing() -> None:
    steps = parse_procedure(SMALL, "small.toml", "0" * 64).steps
    graph = graph_of(
        [
            step.model_copy(update={"applies": ("pair",)}) if step.id == "mend" else step
            for step in steps
        ]
    )
    assert Edge("not_ok", ("gate of lock",), counted=True) in graph["learned",]


def test_a_branch_is_copied_for_each_step_that_leads_to_it() -> None:
    text = SMALL.replace(
        'fact = "swings"\n',
        'fact = "swings"\non = { not_ok = "learn-failed" }\nat_most = 1\nthen = "hold"\n',
    )
    graph = graph_of(parse_procedure(text, "small.toml", "0" * 64).steps)
    copies = {node for node in graph if step_of(node) == "mend"}
    assert copies == {("swings", "mend"), ("learned", "mend")}
    after = {one: [edge.to for edge in graph[one] if edge.answer == "skipped"] for one in copies}
    assert after["swings", "mend"] == [("gate of learn",)]


def test_the_order_of_the_file_is_the_order_of_the_walk() -> None:
    graph = small()
    walk = [("swings",), ("gate of learn",), ("learn",), ("learned",), ("gate of lock",), ("lock",)]
    for one, other in pairwise(walk):
        assert other in {edge.to for edge in graph[one]}
