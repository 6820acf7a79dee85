"""Writes part of a grammar in a notation for people.

``[x]`` may be left out, ``a / b`` is one or the other, ``( )`` groups, ``x ...`` may be repeated,
and ``<name>`` stands for any row of that name.
"""

from __future__ import annotations

from collections.abc import Mapping

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


def notation(node: Node, grammar: Grammar, slots: Mapping[str, str]) -> str:
    """The node in readable notation; a rule in ``slots`` is named instead of spelled out."""
    return either(_options(node, grammar, slots))


def either(options: list[str]) -> str:
    """Joins options as 'a / b'; an empty option makes the others optional."""
    some = list(dict.fromkeys(option for option in options if option))
    text = " / ".join(some)
    return f"[{text}]" if some and "" in options else text


def _options(node: Node, grammar: Grammar, slots: Mapping[str, str]) -> list[str]:
    """The phrases of a node, one item per alternative."""
    match node:
        case Token(word):
            return [word]
        case Reference(rule):
            if rule in slots:
                return [f"<{slots[rule]}>"]
            return _options(grammar.rules[rule].expansion, grammar, slots)
        case Alternatives(options):
            return [said for option in options for said in _options(option, grammar, slots)]
        case Sequence(items):
            return [" ".join(part for item in items if (part := _held(item, grammar, slots)))]
        case OptionalGroup(item):
            return [f"[{notation(item, grammar, slots)}]"]
        case Repeat(item, at_least):
            again = f"({notation(item, grammar, slots)}) ..."
            return [again if at_least else f"[{again}]"]
        case Tagged(item):
            return _options(item, grammar, slots)
    return [""]


def _held(node: Node, grammar: Grammar, slots: Mapping[str, str]) -> str:
    """The node as one item of a sequence."""
    options = _options(node, grammar, slots)
    text = either(options)
    return f"({text})" if len(set(options)) > 1 and "" not in options else text
