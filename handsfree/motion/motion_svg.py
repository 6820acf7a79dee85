"""Draws a measured leaf: its angle and its kinetic energy over time, with the limit."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from html import escape

from handsfree.motion.motion_record import MeasuredMotion

_WIDTH, _LEFT, _RIGHT = 1000, 56, 16
_ANGLE_TOP, _ANGLE_HEIGHT = 60, 190
_ENERGY_TOP, _ENERGY_HEIGHT = 300, 150
_HEIGHT = 490
_STYLE = "font-family='sans-serif' font-size='13'"
_LEAF, _LIMIT, _GRAY, _OVER = "#1f5f8b", "#a33", "#667", "#f3d6d2"
_MOST_POINTS = 900


def motion_svg(
    motion: MeasuredMotion, inertia_kg_m2: float | None, limit_j: float, *, unit: str, per_j: float
) -> str:
    """One picture for the whole log; without an inertia the lower half is the speed.

    ``unit`` names the unit of energy, ``per_j`` is the number of these units per joule. The picture
    is smaller than 60 kB.
    """
    curve = motion.curve[:: max(1, len(motion.curve) // _MOST_POINTS)]
    end_s = max(curve[-1][0], 1.0)
    widest = max(90.0, *(angle for _, angle, _ in curve))

    def x(time_s: float) -> float:
        return _LEFT + (_WIDTH - _LEFT - _RIGHT) * time_s / end_s

    parts = [
        f"<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 {_WIDTH} {_HEIGHT}' {_STYLE}>",
        f"<title>{_title(motion)}</title>",
        f"<rect width='{_WIDTH}' height='{_HEIGHT}' fill='white'/>",
    ]
    angle_y = _scale(_ANGLE_TOP, _ANGLE_HEIGHT, widest)
    parts += _axis(_ANGLE_TOP, _ANGLE_HEIGHT, widest, 30.0, "degrees", end_s)
    parts += [_line(((x(t), angle_y(a)) for t, a, _ in curve), _LEAF)]
    for nth, cycle in enumerate(motion.cycles):
        for row, passed in enumerate(cycle.moments):
            at = x(passed.at_s)
            parts.append(
                f"<line x1='{at:.1f}' x2='{at:.1f}' y1='{_ANGLE_TOP}' "
                f"y2='{_ANGLE_TOP + _ANGLE_HEIGHT}' stroke='{_GRAY}' stroke-dasharray='3 3'/>"
            )
            if nth == 0:
                parts.append(
                    f"<text x='{at:.1f}' y='{16 + 14 * (row % 3)}' text-anchor='middle' "
                    f"fill='{_GRAY}'>{escape(passed.moment.value)}</text>"
                )
    energy = [(t, _energy(r, inertia_kg_m2) * per_j) for t, _, r in curve]
    if inertia_kg_m2 is None:
        energy = [(t, abs(r)) for t, _, r in curve]
    limit = limit_j * per_j if inertia_kg_m2 is not None else None
    top = max(value for _, value in energy)
    top = max(top, limit or 0.0) * 1.15 or 1.0
    energy_y = _scale(_ENERGY_TOP, _ENERGY_HEIGHT, top)
    if limit is not None:
        high = energy_y(limit)
        parts.append(
            f"<rect x='{_LEFT}' y='{_ENERGY_TOP}' width='{_WIDTH - _LEFT - _RIGHT}' "
            f"height='{high - _ENERGY_TOP:.1f}' fill='{_OVER}'/>"
        )
    name = unit if inertia_kg_m2 is not None else "degrees a second"
    parts += _axis(_ENERGY_TOP, _ENERGY_HEIGHT, top, _nice(top), name, end_s)
    parts.append(_line(((x(t), energy_y(value)) for t, value in energy), _LEAF))
    if limit is not None:
        parts += [
            f"<line x1='{_LEFT}' x2='{_WIDTH - _RIGHT}' y1='{energy_y(limit):.1f}' "
            f"y2='{energy_y(limit):.1f}' stroke='{_LIMIT}' stroke-width='1.5'/>",
            f"<text x='{_WIDTH - _RIGHT}' y='{energy_y(limit) - 4:.1f}' text-anchor='end' "
            f"fill='{_LIMIT}'>limit {limit:.2f} {escape(unit)}</text>",
        ]
    return "\n".join([*parts, "</svg>", ""])


def _title(motion: MeasuredMotion) -> str:
    cycles = len(motion.cycles)
    return f"{cycles} cycle{'s' if cycles > 1 else ''} of a leaf: angle and energy over time"


def _energy(rate_deg_s: float, inertia_kg_m2: float | None) -> float:
    return (inertia_kg_m2 or 0.0) * math.radians(rate_deg_s) ** 2 / 2


def _scale(top: float, height: float, largest: float) -> Callable[[float], float]:
    """Maps a value from 0 to ``largest`` to a height in the picture."""

    def to_y(value: float) -> float:
        return top + height - height / largest * max(0.0, value)

    return to_y


def _nice(top: float) -> float:
    """A step of 1, 2 or 5 times a power of ten that divides ``top`` into two to five parts."""
    power = 10.0 ** math.floor(math.log10(top))
    return next(step * power for step in (0.2, 0.5, 1.0, 2.0) if top / (step * power) <= 6)


def _axis(
    top: float, height: float, largest: float, step: float, name: str, end_s: float
) -> list[str]:
    bottom = top + height
    scale = _scale(top, height, largest)
    out = [
        f"<text x='{_LEFT}' y='{top - 6}' fill='{_GRAY}'>{escape(name)}</text>",
        f"<line x1='{_LEFT}' x2='{_WIDTH - _RIGHT}' y1='{bottom}' y2='{bottom}' stroke='{_GRAY}'/>",
    ]
    for nth in range(int(largest / step) + 1):
        value = nth * step
        out.append(
            f"<text x='{_LEFT - 6}' y='{scale(value) + 4:.1f}' text-anchor='end' "
            f"fill='{_GRAY}'>{value:g}</text>"
        )
    every = max(1, round(end_s / 12))
    for second in range(0, int(end_s) + 1, every):
        at = _LEFT + (_WIDTH - _LEFT - _RIGHT) * second / end_s
        out.append(
            f"<text x='{at:.1f}' y='{bottom + 16}' text-anchor='middle' fill='{_GRAY}'>"
            f"{second} s</text>"
        )
    return out


def _line(points: Iterable[tuple[float, float]], color: str) -> str:
    path: Sequence[str] = [f"{x:.1f},{y:.1f}" for x, y in points]
    return f"<polyline points='{' '.join(path)}' fill='none' stroke='{color}' stroke-width='1.8'/>"
