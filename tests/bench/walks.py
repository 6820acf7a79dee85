"""Walks every procedure at random with random answers: every walk must end.

    python -m tests.bench.walks                        # 100,000 walks over the graphs
    python -m tests.bench.walks --visits 700           # that many whole conversations

A walk over the graph (handsfree/procedure/flow_graph.py) takes one answer of each step at random,
bad ones as often as good ones, until the close-out. An answer with a count is taken only that
often. A visit is the real conversation with everything that the graph leaves out: doors, gates,
holds, searches, readings, the decisions before hand-over (tests/dialogue/random_walk.py).
``--seed`` begins another set of walks. Exit code 1 if a walk did not end, or did what no visit may
do.
"""

from __future__ import annotations

import argparse
import statistics
import sys
import time
from collections import Counter
from random import Random

from handsfree.language.wording import languages
from handsfree.procedure.flow_graph import CLOSE, START, Edge, Graph, Node, graph_of, step_of
from handsfree.procedure.loader import load_procedure, shipped_procedures
from handsfree.procedure.step import Step
from tests.dialogue.random_walk import LostWalk, Manner, walk

MOST_NODES = 20_000
"""Number of nodes after which a walk counts as endless."""
_BUILT_IN = 3
"""Limit for repeated fixes and searches at one place; see handsfree/dialogue/gates.py."""


def graph_walk(graph: Graph, steps: dict[str, Step], random: Random) -> int:
    """Returns the nodes of one walk to the close-out. Raises LostWalk if it does not end."""
    at: Node = START
    taken: Counter[str] = Counter()
    for length in range(MOST_NODES):
        if at == CLOSE:
            return length
        edge = _choose(graph[at], steps.get(step_of(at)), taken, random)
        if edge.counted:
            taken[_counter(edge, at)] += 1
        at = edge.to
    raise LostWalk(f"no end after {MOST_NODES} nodes: {at}")


def _counter(edge: Edge, at: Node) -> str:
    return f"{step_of(at)} {edge.answer}" if edge.answer in ("put_right", "cured") else step_of(at)


def _choose(
    edges: tuple[Edge, ...], step: Step | None, taken: Counter[str], random: Random
) -> Edge:
    """Picks an edge at random; once a count is used up, one of the uncounted edges of the same
    answer.
    """
    answers = sorted({edge.answer for edge in edges})
    if "tagged_out" in answers and random.random() < 0.9:
        answers.remove("tagged_out")  # it ends most of the visit, so it is rare here
    answer = random.choice(answers)
    ways = [edge for edge in edges if edge.answer == answer]
    counted = [edge for edge in ways if edge.counted]
    if not counted:
        return random.choice(ways)
    at_most = step.at_most if step is not None and answer in step.on else None
    node_key = f"{step.id} {answer}" if step and answer in ("put_right", "cured") else ""
    key = node_key or (step.id if step else "")
    if taken[key] < (at_most or _BUILT_IN):
        return random.choice(counted)
    return random.choice([e for e in ways if not e.counted] or [e for e in edges if not e.counted])


def over_graphs(walks: int, seed: int) -> int:
    """Walks the graph of each procedure in each language; prints a row each."""
    lost = 0
    names = [(name, language) for language in languages() for name in shipped_procedures(language)]
    print("procedure                    language    walks  nodes: median   longest  seconds")
    for nth, (name, language) in enumerate(names):
        share = walks // len(names) + (nth < walks % len(names))
        procedure = load_procedure(name, language=language)
        graph, steps = graph_of(procedure.steps), {step.id: step for step in procedure.steps}
        began, lengths = time.process_time(), []
        for each in range(seed, seed + share):
            try:
                lengths.append(graph_walk(graph, steps, Random(each)))
            except LostWalk as error:
                lost += 1
                print(f"{name} ({language}), seed {each}: {error}")
        spent = time.process_time() - began
        print(
            f"{name:28} {language:8} {share:8} {statistics.median(lengths):14g}"
            f" {max(lengths):9} {spent:8.1f}"
        )
    print(f"{walks} walks, {lost} without an end")
    return lost


def over_visits(visits: int, seed: int) -> int:
    """Holds that many conversations over all procedures; prints a row each."""
    lost = 0
    names = shipped_procedures()
    print("procedure                      visits  turns: median   longest  seconds")
    for nth, name in enumerate(names):
        share = visits // len(names) + (nth < visits % len(names))
        procedure = load_procedure(name)
        began, turns = time.process_time(), []
        for each in range(seed, seed + share):
            random = Random(each)
            manner = Manner(bad=random.choice((0.1, 0.4, 0.8)), wander=random.choice((0.0, 0.05)))
            try:
                turns.append(walk(procedure, random, manner).turns)
            except LostWalk as error:
                lost += 1
                print(f"{name}, seed {each}: {error}")
        spent = time.process_time() - began
        if turns:
            print(f"{name:28} {share:8} {statistics.median(turns):14g} {max(turns):9} {spent:8.1f}")
    print(f"{visits} visits, {lost} lost")
    return lost


def main() -> int:
    """Prints the tables; exit code 1 if a walk was lost."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--walks", type=int, default=100_000)
    parser.add_argument("--visits", type=int, default=0)
    parser.add_argument("--seed", type=int, default=0)
    given = parser.parse_args()
    if given.visits:
        return 1 if over_visits(given.visits, given.seed) else 0
    return 1 if over_graphs(given.walks, given.seed) else 0


if __name__ == "__main__":
    sys.exit(main())
