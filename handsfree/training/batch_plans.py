"""Plans the batches of a training: utterances, speeds and pauses."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import accumulate
from multiprocessing import get_context
from multiprocessing.queues import Queue

import numpy as np
from numpy.typing import NDArray

from handsfree.training.robot_voices import RATE_HZ
from handsfree.training.sound_bank import CUT, CUT_DIGIT, NATURAL, SYNTHETIC, Bank, Piece

WORDS = "words"
SHARES = {
    SYNTHETIC: 0.10,
    NATURAL: 0.38,
    "sentences": 0.11,
    "an4": 0.08,
    WORDS: 0.20,
    CUT: 0.05,
    CUT_DIGIT: 0.05,
    "other_words": 0.03,
}
"""Relative frequency of drawing from each group."""

_SINGLE = (WORDS, CUT, CUT_DIGIT)
_POOL = 12
"""Number of batches that are drawn at once and sorted by length."""
_JOINED_S = 6.5
_SPEED = (0.8, 1.25)
_PLANS_AHEAD = 24
_RARE = 0.7
"""A single word's share grows with its number of recordings to the power of 1 minus this."""
_BEFORE_S, _AFTER_S = (0.05, 1.0), (0.15, 1.1)


@dataclass(frozen=True)
class Plan:
    """Utterances of a batch, and how each is changed.

    ``rows[n]`` places the n-th pieces of the utterances: start in the bank, length, offset in the
    batch, speed, gain. ``lengths`` holds the length of each utterance (samples).
    """

    rows: list[NDArray[np.float64]]
    lengths: NDArray[np.int64]
    ways: list[list[tuple[int, ...]]]


def plans(bank: Bank, size: int, processes: int = 0) -> Iterator[Plan]:
    """Plans of ``size`` utterances of about equal length, without end, from several processes.

    With none, this process draws when it is asked.
    """
    draws = Draws(bank)
    return _from_processes(draws, size, processes) if processes else draws.plans(size)


def _from_processes(draws: Draws, size: int, processes: int) -> Iterator[Plan]:
    fork = get_context("fork")
    queue: Queue[Plan] = fork.Queue(_PLANS_AHEAD)
    for seed in [random.random() for _ in range(processes)]:
        fork.Process(target=_put, args=(draws, size, queue, seed), daemon=True).start()
    while True:
        yield queue.get()


def _put(draws: Draws, size: int, queue: Queue[Plan], seed: float) -> None:
    random.seed(seed)
    for plan in draws.plans(size):
        queue.put(plan)


class Draws:
    """Draws utterances from a bank."""

    def __init__(self, bank: Bank) -> None:
        self._groups = bank.groups
        self._word_weights: dict[str, list[float]] = {}

    def plans(self, size: int) -> Iterator[Plan]:
        """Yields plans endlessly."""
        while True:
            drawn = [self.utterance() for _ in range(_POOL * size)]
            drawn.sort(key=lambda pieces: sum(piece.length for piece in pieces))
            batches = [drawn[i : i + size] for i in range(0, len(drawn), size)]
            random.shuffle(batches)
            for utterances in batches:
                yield planned(utterances)

    def piece(self, group: str) -> Piece:
        """A random piece of a group; rare single words are drawn more often than their share."""
        pieces = self._groups[group]
        if group not in _SINGLE:
            return random.choice(pieces)
        if len(pieces) != len(self._word_weights.get(group, ())):
            by_word = Counter(piece.ways[0] for piece in pieces)
            weights = (by_word[piece.ways[0]] ** -_RARE for piece in pieces)
            self._word_weights[group] = list(accumulate(weights))
        return random.choices(pieces, cum_weights=self._word_weights[group])[0]

    def utterance(self) -> list[Piece]:
        """One utterance, or a few short ones one after another."""
        groups = self._groups
        names = [name for name in SHARES if groups.get(name)]
        (name,) = random.choices(names, [SHARES[name] for name in names])
        joined = [self.piece(name)]
        others = [other for other in (WORDS, SYNTHETIC, NATURAL) if groups.get(other)]
        again = 0.45 if name in _SINGLE else 0.15
        while random.random() < again and len(joined) < 5 and others:
            other = name if name in _SINGLE else random.choice(others)
            piece = self.piece(other)
            if sum(p.length for p in (*joined, piece)) > _JOINED_S * RATE_HZ:
                break
            joined.append(piece)
        return joined


def planned(utterances: list[list[Piece]]) -> Plan:
    """Draws the speed of each utterance, the pauses around its pieces, and their levels."""
    # Utterances with more pieces come first, so those with a second piece are the first rows.
    utterances = sorted(utterances, key=len, reverse=True)
    rows: list[list[tuple[float, ...]]] = [[] for _ in utterances[0]]
    total = []
    for pieces in utterances:
        at = random.uniform(*_BEFORE_S) * RATE_HZ
        faster = random.uniform(*_SPEED)
        for number, piece in enumerate(pieces):
            gain = 10 ** (random.uniform(-4, 4) / 20) if number else 1.0
            lasts = piece.length / faster
            rows[number].append((piece.start, lasts - 2, at, faster, gain))
            at += lasts
            if number + 1 < len(pieces):
                at += random.uniform(0, 0.25) * RATE_HZ
        total.append(at + random.uniform(*_AFTER_S) * RATE_HZ)
    ways = [_two_ways(pieces) for pieces in utterances]
    return Plan([np.array(each) for each in rows], np.array(total).astype(np.int64), ways)


def _two_ways(pieces: list[Piece]) -> list[tuple[int, ...]]:
    """The usual pronunciation of the pieces, and another one drawn from those in use."""
    usual = tuple(phone for piece in pieces for phone in piece.ways[0])
    drawn = tuple(phone for piece in pieces for phone in random.choice(piece.ways))
    return [usual, drawn]
