"""Weighted finite-state transducers, written in OpenFst's binary 'vector' format.

Covers only what a decoding graph needs: tropical weights ('standard' arcs), no symbol tables, no
stored properties. Vosk reads these files, and writing them needs no FST library. Format: OpenFst
`fst.h` FstHeader and `vector-fst.h`, file version 2.
"""

from __future__ import annotations

import math
import struct
from dataclasses import dataclass
from pathlib import Path

_MAGIC = 2125659606
_FILE_VERSION = 2
_NO_FLAGS = 0
_EXPANDED_AND_MUTABLE = 3  # the two properties common to all vector FSTs
EPSILON = 0


@dataclass(frozen=True, slots=True)
class Arc:
    """A transition. ``cost`` is a negative log probability; label 0 is epsilon."""

    input: int
    output: int
    cost: float
    target: int


class Fst:
    """A transducer under construction. State 0 is the start."""

    def __init__(self) -> None:
        self.arcs: list[list[Arc]] = []
        self.finals: dict[int, float] = {}

    def add_state(self) -> int:
        """Adds a state and returns its number."""
        self.arcs.append([])
        return len(self.arcs) - 1

    def add_arc(
        self, source: int, target: int, input: int, output: int = EPSILON, cost: float = 0.0
    ) -> None:
        """Adds a transition from ``source`` to ``target``."""
        self.arcs[source].append(Arc(input, output, cost, target))

    def set_final(self, state: int, cost: float = 0.0) -> None:
        """Makes ``state`` final at ``cost``."""
        self.finals[state] = cost

    @property
    def state_count(self) -> int:
        """Number of states."""
        return len(self.arcs)

    @property
    def arc_count(self) -> int:
        """Number of transitions."""
        return sum(map(len, self.arcs))

    def to_bytes(self) -> bytes:
        """Returns the binary file; the same transducer always gives the same bytes."""
        parts = [
            struct.pack("<i", _MAGIC),
            _text("vector"),
            _text("standard"),
            struct.pack("<iiQ", _FILE_VERSION, _NO_FLAGS, _EXPANDED_AND_MUTABLE),
            struct.pack("<qqq", 0, len(self.arcs), self.arc_count),
        ]
        for state, arcs in enumerate(self.arcs):
            parts.append(struct.pack("<fq", self.finals.get(state, math.inf), len(arcs)))
            parts += [struct.pack("<iifi", a.input, a.output, a.cost, a.target) for a in arcs]
        return b"".join(parts)

    def write(self, path: Path) -> None:
        """Writes the binary file."""
        path.write_bytes(self.to_bytes())


def _text(text: str) -> bytes:
    return struct.pack("<i", len(text)) + text.encode("ascii")
