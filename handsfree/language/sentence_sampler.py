"""Draws random sentences from a grammar, for training sets and tests."""

from __future__ import annotations

from random import Random

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

_OPTIONAL = 0.4
_AGAIN = 0.5


def sample(grammar: Grammar, rule: str, rng: Random) -> tuple[str, ...]:
    """Draws one sentence of the rule, choosing alternatives by their weights.

    An optional group is included with probability 0.4; each repetition continues with probability
    0.5.
    """
    words: list[str] = []

    def say(node: Node) -> None:
        match node:
            case Token(word):
                words.append(word)
            case Reference(name):
                say(grammar.rules[name].expansion)
            case Sequence(items):
                for item in items:
                    say(item)
            case Alternatives(options, weights):
                say(rng.choices(options, weights)[0])
            case OptionalGroup(item):
                if rng.random() < _OPTIONAL:
                    say(item)
            case Repeat(item, at_least):
                for _ in range(at_least):
                    say(item)
                while rng.random() < _AGAIN:
                    say(item)
            case Tagged(item):
                say(item)
            case _:
                pass

    say(grammar.expansion(rule))
    return tuple(words)
