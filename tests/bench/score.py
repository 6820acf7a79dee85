"""Counts of recognition results, and how to print them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist
from typing import Literal

Counted = Literal["right", "accepted", "assent"]
"""What a row counts: right meanings, anything taken for a command, or refusals taken for an assent.
"""

_Z = NormalDist().inv_cdf(0.975)


def wilson(hits: int, count: int) -> tuple[float, float]:
    """Returns the 95 % interval of a share (Wilson 1927, without a correction for continuity)."""
    if count == 0:
        return 0.0, 1.0
    share, spread = hits / count, _Z * _Z / count
    middle = (share + spread / 2) / (1 + spread)
    half = _Z / (1 + spread) * math.sqrt(share * (1 - share) / count + spread / (4 * count))
    return max(0.0, middle - half), min(1.0, middle + half)


@dataclass
class Cell:
    """One cell of the table: the results of ``count`` utterances."""

    count: int = 0
    right: int = 0
    accepted: int = 0
    assent: int = 0

    def __add__(self, other: Cell) -> Cell:
        return Cell(
            self.count + other.count,
            self.right + other.right,
            self.accepted + other.accepted,
            self.assent + other.assent,
        )

    def hits(self, counted: Counted) -> int:
        """Returns the number that the row counts."""
        return {"right": self.right, "accepted": self.accepted, "assent": self.assent}[counted]

    def as_json(self, counted: Counted) -> dict[str, object]:
        """Returns the counts, and the share and interval of what the row counts."""
        hits = self.hits(counted)
        return {
            "count": self.count,
            "right": self.right,
            "wrong_but_accepted": self.accepted - self.right,
            "refusal_heard_as_assent": self.assent,
            "share": round(hits / max(1, self.count), 4),
            "interval": [round(end, 4) for end in wilson(hits, self.count)],
        }

    def shown(self, counted: Counted) -> str:
        """Returns share, interval and false accepts in percent, '97 [93-99] 1.0', or '0/610 <0.7
        %'.
        """
        hits = self.hits(counted)
        low, high = wilson(hits, self.count)
        if counted == "assent":
            return f"{hits}/{self.count} <{100 * high:.2f} %"
        share = 100 * hits / max(1, self.count)
        if counted == "accepted":
            return f"{share:.1f} [{100 * low:.1f}-{100 * high:.1f}]"
        wrong = 100 * (self.accepted - self.right) / max(1, self.count)
        assent = f" !{self.assent}" if self.assent else ""
        return f"{share:.1f} [{100 * low:.0f}-{100 * high:.0f}] {wrong:.1f}{assent}"
