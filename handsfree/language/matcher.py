"""Strict matching: decides whether words are a sentence, and which tags they carry."""

from __future__ import annotations

from collections.abc import Sequence as Words

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
    Token,
)

Tags = tuple[str, ...]
"""Tags of one reading of a sentence, in the order of its words."""

_Ends = frozenset[tuple[int, Tags]]
_NOWHERE: _Ends = frozenset()


class Matcher:
    """Matches word lists against the rules of one grammar."""

    def __init__(self, grammar: Grammar) -> None:
        self._grammar = grammar
        # Keyed by identity: the nodes live as long as the grammar, and hashing a tree is slow.
        self._first: dict[int, tuple[frozenset[str], bool]] = {}
        self._options: dict[int, tuple[dict[str, tuple[Node, ...]], tuple[Node, ...]]] = {}

    def parses(self, words: Words[str], rule: str) -> frozenset[Tags]:
        """Tags of every way to read the words as that rule; empty if they are not a sentence."""
        ends = _Match(self, words).ends(self._grammar.expansion(rule), 0)
        return frozenset(tags for end, tags in ends if end == len(words))

    def expansion(self, reference: Reference) -> Node:
        """The node that a reference stands for."""
        return self._grammar.rules[reference.rule].expansion

    def first(self, node: Node) -> tuple[frozenset[str], bool]:
        """Words that a node can begin with, and whether it also matches no words."""
        known = self._first.get(id(node))
        if known is None:
            known = self._first[id(node)] = self._find_first(node)
        return known

    def options(self, node: Alternatives, word: str | None) -> tuple[Node, ...]:
        """The alternatives that can match if ``word`` comes next; None is the end of the text."""
        known = self._options.get(id(node))
        if known is None:
            known = self._options[id(node)] = self._sort_options(node)
        by_word, empty = known
        return empty if word is None else by_word.get(word, empty)

    def _sort_options(
        self, node: Alternatives
    ) -> tuple[dict[str, tuple[Node, ...]], tuple[Node, ...]]:
        """The alternatives by the word that each begins with, and those that match no words."""
        empty = tuple(option for option in node.options if self.first(option)[1])
        silent = {id(option) for option in empty}
        by_word: dict[str, tuple[Node, ...]] = {}
        for option in node.options:
            for word in self.first(option)[0]:
                if id(option) not in silent:
                    by_word[word] = (*by_word.get(word, ()), option)
        return {word: (*options, *empty) for word, options in by_word.items()}, empty

    def _find_first(self, node: Node) -> tuple[frozenset[str], bool]:
        match node:
            case Token(word):
                return frozenset((word,)), False
            case Null():
                return frozenset(), True
            case Reference():
                return self.first(self.expansion(node))
            case Sequence(items):
                words: frozenset[str] = frozenset()
                for item in items:
                    more, empty = self.first(item)
                    words |= more
                    if not empty:
                        return words, False
                return words, True
            case Alternatives(options):
                firsts = [self.first(option) for option in options]
                return frozenset().union(*(w for w, _ in firsts)), any(e for _, e in firsts)
            case OptionalGroup(item):
                return self.first(item)[0], True
            case Repeat(item, at_least):
                more, empty = self.first(item)
                return more, empty or at_least == 0
            case Tagged(item):
                return self.first(item)


class _Match:
    """Matches one word list; every (node, position) is evaluated once."""

    def __init__(self, matcher: Matcher, words: Words[str]) -> None:
        self._matcher = matcher
        self._words = words
        self._known: dict[tuple[int, int], _Ends] = {}

    def ends(self, node: Node, start: int) -> _Ends:
        """Positions where the node can end if it begins at ``start``, with the tags on the way."""
        first, empty = self._matcher.first(node)
        if not empty and (start == len(self._words) or self._words[start] not in first):
            return _NOWHERE
        key = (id(node), start)
        if key not in self._known:
            self._known[key] = self._find(node, start)
        return self._known[key]

    def _find(self, node: Node, start: int) -> _Ends:
        match node:
            case Token():
                return frozenset(((start + 1, ()),))
            case Null():
                return frozenset(((start, ()),))
            case Reference():
                return self.ends(self._matcher.expansion(node), start)
            case Sequence(items):
                reached: _Ends = frozenset(((start, ()),))
                for item in items:
                    reached = self._extend(reached, item)
                    if not reached:
                        break
                return reached
            case Alternatives():
                word = self._words[start] if start < len(self._words) else None
                options = self._matcher.options(node, word)
                return frozenset().union(*(self.ends(option, start) for option in options))
            case OptionalGroup(item):
                return self.ends(item, start) | {(start, ())}
            case Repeat(item, at_least):
                return self._repeat(item, at_least, start)
            case Tagged(item, tag):
                return frozenset((end, (*tags, tag)) for end, tags in self.ends(item, start))

    def _extend(self, reached: _Ends, item: Node) -> _Ends:
        return frozenset(
            (end, tags + more) for middle, tags in reached for end, more in self.ends(item, middle)
        )

    def _repeat(self, item: Node, at_least: int, start: int) -> _Ends:
        here: _Ends = frozenset(((start, ()),))
        found = self.ends(item, start) if at_least else here
        reached = here
        while reached:
            # Each round consumes a word, so that a repetition of nothing ends.
            reached = frozenset(
                (end, tags + more)
                for middle, tags in reached
                for end, more in self.ends(item, middle)
                if end > middle
            )
            found |= reached
        return found
