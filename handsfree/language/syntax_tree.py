"""A grammar as a tree: what the text of a JSGF file says (W3C Note 2000).

A node is one of Token, Null, Reference, Sequence, Alternatives, OptionalGroup, Repeat
and Tagged. Lines are kept where something can still turn out wrong after parsing.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True, slots=True)
class Token:
    """One word, lower case."""

    word: str


@dataclass(frozen=True, slots=True)
class Null:
    """``<NULL>``: matches without a word."""


@dataclass(frozen=True, slots=True)
class Reference:
    """``<rule>``; ``rule`` is 'grammar.rule' once the files are joined."""

    rule: str
    line: int


@dataclass(frozen=True, slots=True)
class Sequence:
    """One item after the other."""

    items: tuple[Node, ...]


@dataclass(frozen=True, slots=True)
class Alternatives:
    """One of several; ``weights`` are relative chances, all 1 when none is written."""

    options: tuple[Node, ...]
    weights: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class OptionalGroup:
    """``[item]``: said or left out."""

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
    """``[public] <name> = expansion;`` and where it stands."""

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
    """Files joined: every rule by its full name, 'grammar.rule'; no rule is recursive.

    ``top`` is the name of the grammar that the others were imported by.
    """

    top: str
    rules: Mapping[str, Rule]

    def expansion(self, rule: str) -> Node:
        """What a rule stands for; a bare name belongs to the top grammar."""
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
    """The node and everything below it, references not followed."""
    yield node
    for child in children(node):
        yield from walk(child)


def words_in(grammar: Grammar, rule: str) -> frozenset[str]:
    """Every word of a rule's sentences. No rule is recursive, so following ends."""
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
