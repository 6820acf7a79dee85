"""Compiles a grammar to the minimal deterministic word automaton that accepts its sentences.

Thompson's construction, the subset construction and Moore's partition refinement (any textbook on
automata). Weights and tags do not matter here.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

from handsfree.language.syntax_tree import (
    Alternatives,
    Grammar,
    Node,
    OptionalGroup,
    Reference,
    Repeat,
    Sequence,
    Tagged,
    Token,
)


@dataclass(frozen=True)
class Automaton:
    """A deterministic word automaton: states count from 0, an arc is (state, word, next state).

    No state has two arcs with the same word, and every state leads to a final one. ``arcs`` are
    sorted.
    """

    start: int
    arcs: tuple[tuple[int, str, int], ...]
    finals: frozenset[int]

    @cached_property
    def _table(self) -> dict[tuple[int, str], int]:
        return {(state, word): target for state, word, target in self.arcs}

    def accepts(self, words: Iterable[str]) -> bool:
        """True if the words are a sentence."""
        state: int | None = self.start
        for word in words:
            if state is None:
                return False
            state = self._table.get((state, word))
        return state in self.finals


def build_automaton(grammar: Grammar, rule: str) -> Automaton:
    """Builds the minimal automaton of one rule."""
    net = _Net(grammar)
    start, end = net.new_state(), net.new_state()
    net.add(grammar.expansion(rule), start, end)
    return _minimal(*_deterministic(net, start, end))


class _Net:
    """A nondeterministic automaton with empty transitions."""

    def __init__(self, grammar: Grammar) -> None:
        self._grammar = grammar
        self.silent: list[list[int]] = []
        self.spoken: list[list[tuple[str, int]]] = []

    def new_state(self) -> int:
        self.silent.append([])
        self.spoken.append([])
        return len(self.silent) - 1

    def add(self, node: Node, start: int, end: int) -> None:
        match node:
            case Token(word):
                self.spoken[start].append((word, end))
            case Reference(name):
                self.add(self._grammar.rules[name].expansion, start, end)
            case Sequence(items):
                here = start
                for item in items[:-1]:
                    there = self.new_state()
                    self.add(item, here, there)
                    here = there
                self.add(items[-1], here, end)
            case Alternatives(options):
                for option in options:
                    self.add(option, start, end)
            case OptionalGroup(item):
                self.silent[start].append(end)
                self.add(item, start, end)
            case Repeat(item, at_least):
                before, after = self.new_state(), self.new_state()
                self.silent[start].append(before)
                self.silent[after].extend((before, end))
                if at_least == 0:
                    self.silent[start].append(end)
                self.add(item, before, after)
            case Tagged(item):
                self.add(item, start, end)
            case _:
                self.silent[start].append(end)

    def closure(self, states: Iterable[int]) -> frozenset[int]:
        seen = set(states)
        waiting = list(seen)
        while waiting:
            for target in self.silent[waiting.pop()]:
                if target not in seen:
                    seen.add(target)
                    waiting.append(target)
        return frozenset(seen)


_Arcs = list[dict[str, int]]


def _deterministic(net: _Net, start: int, end: int) -> tuple[_Arcs, set[int]]:
    """The subset construction; state 0 is the start."""
    first = net.closure((start,))
    number = {first: 0}
    waiting = [first]
    arcs: _Arcs = [{}]
    finals: set[int] = set()
    while waiting:
        states = waiting.pop()
        mine = number[states]
        if end in states:
            finals.add(mine)
        targets: dict[str, set[int]] = {}
        for state in states:
            for word, target in net.spoken[state]:
                targets.setdefault(word, set()).add(target)
        for word, reached in targets.items():
            closed = net.closure(reached)
            if closed not in number:
                number[closed] = len(arcs)
                arcs.append({})
                waiting.append(closed)
            arcs[mine][word] = number[closed]
    return arcs, finals


def _minimal(arcs: _Arcs, finals: set[int]) -> Automaton:
    """Merges states that no continuation distinguishes."""
    block = [int(state in finals) for state in range(len(arcs))]
    count = len(set(block))
    while True:
        keys = [
            (block[state], frozenset((word, block[target]) for word, target in out.items()))
            for state, out in enumerate(arcs)
        ]
        # Numbered in the order of the states, so that the start stays 0.
        names = {key: index for index, key in enumerate(dict.fromkeys(keys))}
        block = [names[key] for key in keys]
        if len(names) == count:
            break
        count = len(names)
    return Automaton(
        start=0,
        arcs=tuple(
            sorted(
                {
                    (block[state], word, block[target])
                    for state, out in enumerate(arcs)
                    for word, target in out.items()
                }
            )
        ),
        finals=frozenset(block[state] for state in finals),
    )
