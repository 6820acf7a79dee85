"""Prunes a grammar to the sentences with allowed tags."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace

from handsfree.language.syntax_tree import (
    Alternatives,
    Grammar,
    Node,
    Null,
    OptionalGroup,
    Reference,
    Repeat,
    Sequence,
    Tagged,
)


def pruned(grammar: Grammar, allowed: Mapping[str, Collection[str]]) -> Grammar:
    """Removes from a grammar everything with a tag ``name = value`` that is not allowed.

    ``allowed`` has the permitted values of each restricted name; tags of other names stay. A rule
    with nothing left is removed.
    """
    return _Pruner(grammar, allowed).grammar()


class _Pruner:
    """Prunes every rule once."""

    def __init__(self, grammar: Grammar, allowed: Mapping[str, Collection[str]]) -> None:
        self._grammar, self._allowed = grammar, allowed
        self._done: dict[str, Node | None] = {}

    def grammar(self) -> Grammar:
        rules = {
            name: replace(rule, expansion=left)
            for name, rule in self._grammar.rules.items()
            if (left := self._rule(name)) is not None
        }
        return Grammar(self._grammar.top, rules)

    def _rule(self, name: str) -> Node | None:
        if name not in self._done:
            self._done[name] = self._node(self._grammar.rules[name].expansion)
        return self._done[name]

    def _node(self, node: Node) -> Node | None:
        """What remains of a node; None if nothing does."""
        match node:
            case Reference(rule=rule):
                return node if self._rule(rule) is not None else None
            case Sequence(items=items):
                kept = tuple(n for item in items if (n := self._node(item)) is not None)
                return Sequence(kept) if len(kept) == len(items) else None
            case Alternatives(options=options, weights=weights):
                chosen = [
                    (left, weight)
                    for option, weight in zip(options, weights, strict=True)
                    if (left := self._node(option)) is not None
                ]
                if not chosen:
                    return None
                return Alternatives(tuple(o for o, _ in chosen), tuple(w for _, w in chosen))
            case OptionalGroup(item=item):
                left_item = self._node(item)
                return Null() if left_item is None else OptionalGroup(left_item)
            case Repeat(item=item):
                left_item = self._node(item)
                return None if left_item is None else replace(node, item=left_item)
            case Tagged(item=item, tag=tag):
                left_item = self._node(item) if self._may(tag) else None
                return None if left_item is None else replace(node, item=left_item)
            case _:
                return node

    def _may(self, tag: str) -> bool:
        name, _, value = (part.strip() for part in tag.partition("="))
        return name not in self._allowed or value in self._allowed[name]
