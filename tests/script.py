"""The script of the recorded visit: its lines for typing, and its final readings."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Iterator
from decimal import Decimal

from handsfree.data import data_folder

SCRIPT = tomllib.loads(
    (data_folder("audio_fixtures") / "harbour-hall.script.toml").read_text(encoding="utf-8")
)
EXPECTED: list[list[str]] = SCRIPT["expected"]["readings"]
BY_EAR = {
    "opening time": ("go", "check"),
    "total opening time": ("go", "open"),
    "hold open time": ("open", "closing"),
    "closing time": ("closing", "ten"),
    "latching time": ("ten", "shut"),
}
MARKED_WITHIN_S = Decimal("0.15")
"""Largest difference between two marks in the noise of the recording (s); the docs have 95 % of
them within 0.11 s.
"""


def runs_by_ear() -> list[dict[str, Decimal]]:
    """Returns the times of each timed run, as marked in the script."""
    return [_times(line) for line in script_lines() if line.startswith("clock ")]


def typed_lines() -> list[str]:
    """Returns the lines of a typed visit, with the times of a run in one utterance."""
    return list(_typed(script_lines()))


def as_expected(found: list[list[str]]) -> bool:
    """True if these are the script's readings: spoken ones exactly, those by ear approximately."""
    if len(found) != len(EXPECTED):
        return False
    pairs = zip(sorted(found), sorted(EXPECTED), strict=True)
    return all(_same(one, other) for one, other in pairs)


def script_lines() -> list[str]:
    lines = SCRIPT["script"]["lines"].splitlines()
    return [line for line in lines if line and not line.startswith("#")]


def _times(line: str) -> dict[str, Decimal]:
    at = {word: Decimal(second) for word, second in re.findall(r"(\w+) ([\d.]+)", line)}
    return {name: at[end] - at[begin] for name, (begin, end) in BY_EAR.items()}


def _typed(lines: Iterable[str]) -> Iterator[str]:
    for line in lines:
        said = line.split(": ", 1)[1]
        if line.startswith("clock "):
            yield "left leaf " + " ".join(f"{name} {value}" for name, value in _times(line).items())
        elif not said.startswith("start the clock"):
            yield said


def _same(found: list[str], expected: list[str]) -> bool:
    if found == expected:
        return True
    by_ear = expected[0] == "left leaf" and expected[2] == "s"
    apart = (abs(Decimal(a) - Decimal(b)) for a, b in zip(found[3:], expected[3:], strict=True))
    return found[:3] == expected[:3] and by_ear and max(apart) <= MARKED_WITHIN_S
