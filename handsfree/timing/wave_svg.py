"""Draws a sound with its marks as a self-contained SVG."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

import numpy as np
from numpy.typing import NDArray

from handsfree.job.record import Record
from handsfree.sample_rate import SAMPLE_RATE_HZ
from handsfree.timing.cycle import Cycle
from handsfree.timing.mark import Mark

_WIDTH = 1000
_COLUMNS = 400  # width of the wave: keeps a page of pictures small, and is enough for every mark
_WAVE, _FOOT = 62, 38  # half the height of the wave, and the space below it for the seconds
_ROW, _LETTER = 18, 7  # height of a row of names, and width of a wide letter in them
_STYLE = "font-family='sans-serif' font-size='12'"


class MarkLine(Record):
    """A mark in a picture: its position, its standard uncertainty, and its moment if known."""

    at_s: float
    uncertainty_s: float
    name: str | None = None


def mark_lines(marks: Sequence[Mark], cycle: Cycle) -> tuple[MarkLine, ...]:
    """The marks of a cycle, each with its moment if it has one."""
    names = {each.mark: each.moment.value for each in cycle.placed}
    return tuple(
        MarkLine(at_s=mark.at_s, uncertainty_s=mark.uncertainty_s, name=names.get(mark))
        for mark in marks
    )


def wave_svg(samples: NDArray[np.int16], marks: Sequence[MarkLine]) -> str:
    """Draws the waveform (16 kHz), with a line, moment and time for each mark; the shading shows ±
    u.

    Marks without a known moment are numbered and dashed. Under 15 kB.
    """
    seconds = max(len(samples), 1) / SAMPLE_RATE_HZ
    names = [
        f"{mark.name or f'mark {nth + 1}'} {mark.at_s:.2f} s" for nth, mark in enumerate(marks)
    ]
    at = [_WIDTH * mark.at_s / seconds for mark in marks]
    rows = _rows(at, names)
    top = max(70, 16 + _ROW * max(rows, default=0))
    height = top + 2 * _WAVE + _FOOT
    parts = [
        f"<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 {_WIDTH} {height}' {_STYLE}>",
        f"<title>{len(marks)} marks in {seconds:.2f} s</title>",
        f"<rect width='{_WIDTH}' height='{height}' fill='white'/>",
        f"<path d='{_outline(samples, top + _WAVE)}' fill='#7a8ca0'/>",
    ]
    for mark, name, x, row in zip(marks, names, at, rows, strict=True):
        half = max(0.5, _WIDTH * mark.uncertainty_s / seconds)
        dash = "" if mark.name else " stroke-dasharray='4 3'"
        y = 16 + _ROW * row
        anchor = "end" if _turned(x, name) else "start"
        parts += [
            f"<rect x='{x - half:.1f}' y='{top}' width='{2 * half:.1f}' height='{2 * _WAVE}'"
            " fill='#c0392b' opacity='0.25'/>",
            f"<line x1='{x:.1f}' x2='{x:.1f}' y1='{y}' y2='{top + 2 * _WAVE}'"
            f" stroke='#c0392b'{dash}/>",
            f"<text x='{x:.1f}' y='{y}' dx='{-4 if anchor == 'end' else 4}'"
            f" text-anchor='{anchor}'>{escape(name)}</text>",
        ]
    step = max(1, round(seconds / 10))
    parts += [
        f"<text x='{_WIDTH * at / seconds:.1f}' y='{height - 12}' fill='#555'>{at} s</text>"
        for at in range(0, int(seconds) + 1, step)
    ]
    return "\n".join([*parts, "</svg>", ""])


def _width(name: str) -> float:
    return _LETTER * len(name)


def _turned(x: float, name: str) -> bool:
    """True if the name of a mark goes to the left of its line, to stay inside the picture."""
    return x + _width(name) > _WIDTH


def _rows(at: Sequence[float], names: Sequence[str]) -> list[int]:
    """Row of each name, from the top: the first in which it overlaps no other name."""
    taken: list[list[tuple[float, float]]] = []
    rows = []
    for x, name in zip(at, names, strict=True):
        wide = _width(name)
        low, high = (x - wide, x) if _turned(x, name) else (x, x + wide)
        free = (all(high <= a or b <= low for a, b in spans) for spans in taken)
        row = next((nth for nth, fits in enumerate(free) if fits), len(taken))
        if row == len(taken):
            taken.append([])
        taken[row].append((low, high))
        rows.append(row)
    return rows


def _outline(samples: NDArray[np.int16], middle: int) -> str:
    """Highest and lowest sample of each column as one closed shape."""
    columns = np.array_split(samples.astype(np.float64), min(_COLUMNS, max(1, len(samples))))
    largest = max(1.0, float(np.max(np.abs(samples.astype(np.float64)), initial=0.0)))
    wide = _WIDTH / len(columns)
    upper = [(nth * wide, float(np.max(part, initial=0.0))) for nth, part in enumerate(columns)]
    lower = [(nth * wide, float(np.min(part, initial=0.0))) for nth, part in enumerate(columns)]
    points = [
        f"{x:.0f},{middle - _WAVE * height / largest:.1f}" for x, height in upper + lower[::-1]
    ]
    return "M" + " L".join(points) + " Z"
