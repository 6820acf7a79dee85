"""Reads the notation of the phrase table back into a grammar."""

from __future__ import annotations

import re
from collections.abc import Iterable
from pathlib import Path

from handsfree.language.phrase_table import Phrase
from handsfree.language.syntax_tree import (
    Alternatives,
    Grammar,
    Node,
    OptionalGroup,
    Reference,
    Repeat,
    Rule,
    Sequence,
    Token,
)

_PIECE = re.compile(r"<[^>]+>|\.\.\.|[\[\]()/]|[^\s\[\]()/<>]+")


def grammar_of(rows: Iterable[Phrase]) -> Grammar:
    """The grammar that the rows describe: 'utterance', and each part by its name."""
    forms: dict[str, list[Node]] = {}
    for row in rows:
        node = read(row.said)
        if row.kind is not None:
            forms.setdefault("utterance", []).append(node)
        if row.part is not None:
            forms.setdefault(row.part, []).append(node)
    rules = {f"table.{name}": rule(name, some) for name, some in forms.items()}
    return Grammar(top="table", rules=rules)


def rule(name: str, some: list[Node]) -> Rule:
    return Rule(name, True, Alternatives(tuple(some), (1.0,) * len(some)), Path("table"), 1)


def read(said: str) -> Node:
    """The node that a row's notation writes; fails when it is badly written."""
    pieces = _PIECE.findall(said)
    node = _either(pieces)
    assert not pieces, f"'{said}' goes on behind its end"
    return node


def _either(pieces: list[str]) -> Node:
    options = [_sequence(pieces)]
    while pieces and pieces[0] == "/":
        pieces.pop(0)
        options.append(_sequence(pieces))
    return Alternatives(tuple(options), (1.0,) * len(options))


def _sequence(pieces: list[str]) -> Node:
    items: list[Node] = []
    while pieces and pieces[0] not in ("/", ")", "]"):
        piece = pieces.pop(0)
        if piece == "...":
            items[-1] = Repeat(items[-1], 1)
        elif piece in ("(", "["):
            inner = _either(pieces)
            assert pieces.pop(0) == {"(": ")", "[": "]"}[piece]
            items.append(OptionalGroup(inner) if piece == "[" else inner)
        elif piece.startswith("<"):
            items.append(Reference(f"table.{piece[1:-1]}", 1))
        else:
            items.append(Token(piece))
    assert items, "nothing stands here"
    return Sequence(tuple(items))
