"""The syntax tree of a JSGF grammar (W3C Note 2000).

A node is one of Token, Null, Reference, Sequence, Alternatives, OptionalGroup, Repeat and Tagged.
Lines are kept where a fault can still appear after parsing.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True, slots=True)
class Token:
    """One word in lower case."""

    word: str


@dataclass(frozen=True, slots=True)
class Null:
    """``<NULL>``: matches without a word."""


@dataclass(frozen=True, slots=True)
class Reference:
    """``<rule>``; ``rule`` is 'grammar.rule' once the files are linked."""

    rule: str
    line: int


@dataclass(frozen=True, slots=True)
class Sequence:
    """Items in sequence."""

    items: tuple[Node, ...]


@dataclass(frozen=True, slots=True)
class Alternatives:
    """One of several options; ``weights`` are relative, all 1 by default."""

    options: tuple[Node, ...]
    weights: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class OptionalGroup:
    """``[item]``: an optional item."""

    item: Node


@dataclass(frozen=True, slots=True)
class Repeat:
    """``item*`` (``at_least`` 0) or ``item+`` (``at_least`` 1)."""

    item: Node
    at_least: int


@dataclass(frozen=True, slots=True)
class Tagged:
    """``item {tag}``: the item's own tags come first, then this one."""

    item: Node
    tag: str
    line: int


Node = Token | Null | Reference | Sequence | Alternatives | OptionalGroup | Repeat | Tagged


@dataclass(frozen=True, slots=True)
class Rule:
    """``[public] <name> = expansion;`` with its file and line."""

    name: str
    public: bool
    expansion: Node
    file: Path
    line: int


@dataclass(frozen=True, slots=True)
class Import:
    """``import <grammar.rule>;``; ``rule`` is '*' for every public rule."""

    grammar: str
    rule: str
    line: int


@dataclass(frozen=True, slots=True)
class GrammarFile:
    """One file as written."""

    name: str
    file: Path
    imports: tuple[Import, ...]
    rules: tuple[Rule, ...]


@dataclass(frozen=True, slots=True)
class Grammar:
    """Linked files: every rule by its full name, 'grammar.rule'; no rule is recursive.

    ``top`` is the name of the grammar that imports the others.
    """

    top: str
    rules: Mapping[str, Rule]

    def expansion(self, rule: str) -> Node:
        """The expansion of a rule; a bare name belongs to the top grammar."""
        return self.rules[rule if "." in rule else f"{self.top}.{rule}"].expansion


def children(node: Node) -> tuple[Node, ...]:
    """The nodes directly below; a reference has none."""
    match node:
        case Sequence(items):
            return items
        case Alternatives(options):
            return options
        case OptionalGroup(item) | Repeat(item) | Tagged(item):
            return (item,)
        case _:
            return ()


def walk(node: Node) -> Iterator[Node]:
    """Yields the node and everything below it without following references."""
    yield node
    for child in children(node):
        yield from walk(child)


def words_in(grammar: Grammar, rule: str) -> frozenset[str]:
    """All words of a rule's sentences. No rule is recursive, so the search ends."""
    found: set[str] = set()
    seen: set[str] = set()
    left = [grammar.expansion(rule)]
    while left:
        for node in walk(left.pop()):
            if isinstance(node, Token):
                found.add(node.word)
            elif isinstance(node, Reference) and node.rule not in seen:
                seen.add(node.rule)
                left.append(grammar.expansion(node.rule))
    return frozenset(found)
