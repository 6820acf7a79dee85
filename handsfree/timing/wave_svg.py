"""A picture of a sound with its marks, as SVG that needs nothing else."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

import numpy as np
from numpy.typing import NDArray

from handsfree.job.record import Record
from handsfree.timing.cycle import Cycle
from handsfree.timing.mark import SAMPLE_RATE, Mark

_WIDTH, _HEIGHT = 1000, 240
_COLUMNS = 400  # of the wave: a page of pictures stays small, and no mark needs more
_TOP, _MIDDLE, _WAVE = 70, 140, 62  # of the wave: its upper edge, its axis, its half height
_STYLE = "font-family='sans-serif' font-size='12'"


class Line(Record):
    """A mark in a picture: where it is, its standard uncertainty, and what it marks if known."""

    at_s: float
    uncertainty_s: float
    name: str | None = None


def lines_of(marks: Sequence[Mark], cycle: Cycle) -> tuple[Line, ...]:
    """The marks of a cycle, each with its moment where it has one."""
    names = {each.mark: each.moment.value for each in cycle.placed}
    return tuple(
        Line(at_s=mark.at_s, uncertainty_s=mark.uncertainty_s, name=names.get(mark))
        for mark in marks
    )


def wave_svg(samples: NDArray[np.int16], marks: Sequence[Line]) -> str:
    """The waveform (16 kHz), each mark as a line with its moment and time; a shade is 2 u wide.

    Marks that are no known moment are numbered and drawn dashed. Under 15 kB.
    """
    seconds = max(len(samples), 1) / SAMPLE_RATE
    parts = [
        f"<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 {_WIDTH} {_HEIGHT}' {_STYLE}>",
        f"<title>{len(marks)} marks in {seconds:.2f} s</title>",
        f"<rect width='{_WIDTH}' height='{_HEIGHT}' fill='white'/>",
        f"<path d='{_outline(samples)}' fill='#7a8ca0'/>",
    ]
    for nth, mark in enumerate(marks):
        x = _WIDTH * mark.at_s / seconds
        half = max(0.5, _WIDTH * mark.uncertainty_s / seconds)
        name = mark.name or f"mark {nth + 1}"
        dash = "" if mark.name else " stroke-dasharray='4 3'"
        # Neighbours in three rows, so that near marks do not write over each other.
        y = 16 + 18 * (nth % 3)
        anchor = "end" if x > _WIDTH * 0.85 else "start"
        parts += [
            f"<rect x='{x - half:.1f}' y='{_TOP}' width='{2 * half:.1f}' height='{2 * _WAVE}'"
            " fill='#c0392b' opacity='0.25'/>",
            f"<line x1='{x:.1f}' x2='{x:.1f}' y1='{y}' y2='{_MIDDLE + _WAVE}'"
            f" stroke='#c0392b'{dash}/>",
            f"<text x='{x:.1f}' y='{y}' dx='{-4 if anchor == 'end' else 4}'"
            f" text-anchor='{anchor}'>{escape(name)} {mark.at_s:.2f} s</text>",
        ]
    step = max(1, round(seconds / 10))
    parts += [
        f"<text x='{_WIDTH * at / seconds:.1f}' y='{_HEIGHT - 12}' fill='#555'>{at} s</text>"
        for at in range(0, int(seconds) + 1, step)
    ]
    return "\n".join([*parts, "</svg>", ""])


def _outline(samples: NDArray[np.int16]) -> str:
    """The highest and the lowest sample of each column as one closed shape."""
    columns = np.array_split(samples.astype(np.float64), min(_COLUMNS, max(1, len(samples))))
    largest = max(1.0, float(np.max(np.abs(samples.astype(np.float64)), initial=0.0)))
    wide = _WIDTH / len(columns)
    upper = [(nth * wide, float(np.max(part, initial=0.0))) for nth, part in enumerate(columns)]
    lower = [(nth * wide, float(np.min(part, initial=0.0))) for nth, part in enumerate(columns)]
    points = [
        f"{x:.0f},{_MIDDLE - _WAVE * height / largest:.1f}" for x, height in upper + lower[::-1]
    ]
    return "M" + " L".join(points) + " Z"
