"""Finds a small set of short sentences that contains every possible word pair."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable
from itertools import pairwise

from handsfree.language.automaton import Automaton

Words = tuple[str, ...]


def cover(automaton: Automaton) -> list[str]:
    """Sentences of the automaton that together contain every pair of adjacent words.

    Each is the shortest sentence with its pair. A word that can be a sentence also appears alone.
    """
    following: dict[int, list[tuple[str, int]]] = {}
    forward, backward = [], []
    for source, word, target in automaton.arcs:
        following.setdefault(source, []).append((word, target))
        forward.append((source, word, target))
        backward.append((target, word, source))
    before = {state: path[::-1] for state, path in _shortest([automaton.start], forward).items()}
    after = _shortest(sorted(automaton.finals), backward)
    found: dict[Words, None] = {}
    seen: set[tuple[str, str]] = set()
    for source, word, target in automaton.arcs:
        if source == automaton.start and target in automaton.finals:
            found[(word,)] = None
        for following_word, end in following.get(target, ()):
            if (word, following_word) not in seen:
                sentence = (*before[source], word, following_word, *after[end])
                seen.update(pairwise(sentence))
                found[sentence] = None
    return [" ".join(sentence) for sentence in found]


def _shortest(starts: Iterable[int], arcs: Iterable[tuple[int, str, int]]) -> dict[int, Words]:
    """Words between each state and the nearest start, beginning with the state's own arc."""
    leaving: dict[int, list[tuple[str, int]]] = {}
    for source, word, target in arcs:
        leaving.setdefault(source, []).append((word, target))
    paths: dict[int, Words] = dict.fromkeys(starts, ())
    waiting = deque(paths)
    while waiting:
        state = waiting.popleft()
        for word, target in leaving.get(state, ()):
            if target not in paths:
                paths[target] = (word, *paths[state])
                waiting.append(target)
    return paths
