"""Draws charts of readings against their limits as small SVGs with the page's colors."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from typing import NamedTuple

_WIDTH, _ROW, _LEFT, _RIGHT, _TOP = 360, 46, 6, 6, 8
_TRACK = 24  # from the top of a row to its track's axis


class LimitLine(NamedTuple):
    """A limit; ``band`` is the guard band, ``required`` is False for a recommendation."""

    value: float
    at_least: bool
    band: float
    required: bool


class Gauge(NamedTuple):
    """One row of a chart: values as found (hollow) and as left (filled), and the limits.

    ``verdict`` names the style: pass, fail, close, advised, unjudged, none. ``told`` is the text at
    its right end.
    """

    name: str
    found: tuple[float, ...]
    left: tuple[float, ...]
    limits: tuple[LimitLine, ...]
    verdict: str
    told: str


def largest_of(gauges: Sequence[Gauge]) -> float:
    """The largest value that an axis for these rows must show."""
    values = [v for g in gauges for v in (*g.found, *g.left)]
    limits = [line.value + (line.band if line.at_least else 0) for g in gauges for line in g.limits]
    return max([1.0, *(v for v in (*values, *limits) if v < 1e6)])


def chart_svg(
    title: str, gauges: Sequence[Gauge], *, bars: bool = False, until: float = 0.0
) -> str:
    """Draws the rows on one axis from zero; with ``bars`` a bar from the axis to each value.

    The axis reaches at least ``until``, so that adjacent charts can be compared.
    """
    largest = max(until, largest_of(gauges))
    step = _step(largest * 1.08)
    end = step * (int(largest * 1.08 / step) + 1)
    height = _TOP + _ROW * len(gauges) + 26
    words = "; ".join(f"{g.name} {g.told}" for g in gauges)
    parts = [
        f"<svg class='chart' role='img' viewBox='0 0 {_WIDTH} {height}' "
        f"aria-label='{escape(f'{title}: {words}', quote=True)}'>",
        *_axis(end, step, _TOP + _ROW * len(gauges)),
    ]
    for nth, gauge in enumerate(gauges):
        parts += _row(gauge, _TOP + _ROW * nth, end, bars=bars)
    return "".join([*parts, "</svg>"])


def _row(gauge: Gauge, top: float, end: float, *, bars: bool) -> list[str]:
    axis = top + _TRACK
    parts = [
        f"<text class='name' x='{_LEFT}' y='{top + 11}'>{escape(gauge.name)}</text>",
        f"<text class='told {gauge.verdict}' x='{_WIDTH - _RIGHT}' y='{top + 11}' "
        f"text-anchor='end'>{escape(gauge.told)}</text>",
        f"<rect class='track' x='{_LEFT}' y='{axis - 5}' width='{_WIDTH - _LEFT - _RIGHT}' "
        "height='10'/>",
    ]
    calm = gauge.verdict == "pass"  # a passing value needs no attention
    parts += ["<g class='calm'>"] if calm else []
    for line in gauge.limits:
        parts += _limit(line, axis, end)
    parts += ["</g>"] if calm else []
    if bars:
        for value, kind in (
            *((v, "found") for v in gauge.found),
            *((v, "left") for v in gauge.left),
        ):
            y = axis - 4 if kind == "found" else axis + 1
            parts.append(
                f"<rect class='bar {kind} {gauge.verdict}' x='{_LEFT}' y='{y}' "
                f"width='{_x(value, end) - _LEFT:.1f}' height='3'/>"
            )
    for value in gauge.found:
        parts.append(f"<circle class='run found' cx='{_x(value, end):.1f}' cy='{axis}' r='4.2'/>")
    for value in gauge.left:
        parts.append(
            f"<circle class='run left {gauge.verdict}' cx='{_x(value, end):.1f}' cy='{axis}' "
            "r='4.2'/>"
        )
    return parts


def _limit(line: LimitLine, axis: float, end: float) -> list[str]:
    """The forbidden range, the guard band and the line of each limit."""
    at = _x(line.value, end)
    parts = []
    if line.required:
        begin, until = (_LEFT, at) if line.at_least else (at, _WIDTH - _RIGHT)
        parts.append(
            f"<rect class='beyond' x='{begin:.1f}' y='{axis - 5}' "
            f"width='{max(0.0, until - begin):.1f}' height='10'/>"
        )
        edge = _x(line.value + line.band if line.at_least else line.value - line.band, end)
        low, high = min(at, edge), max(at, edge)
        parts.append(
            f"<rect class='band' x='{low:.1f}' y='{axis - 5}' width='{high - low:.1f}' "
            "height='10'/>"
        )
    kind = "limit" if line.required else "limit advised"
    parts.append(
        f"<line class='{kind}' x1='{at:.1f}' x2='{at:.1f}' y1='{axis - 9}' y2='{axis + 9}'/>"
    )
    return parts


def _axis(end: float, step: float, bottom: float) -> list[str]:
    parts = [
        f"<line class='axis' x1='{_LEFT}' x2='{_WIDTH - _RIGHT}' y1='{bottom}' y2='{bottom}'/>"
    ]
    count = round(end / step)
    for nth in range(count + 1):
        x = _x(nth * step, end)
        anchor = "start" if nth == 0 else "end" if nth == count else "middle"
        label = f"{nth * step:g}"
        parts.append(f"<line class='grid' x1='{x:.1f}' x2='{x:.1f}' y1='{_TOP}' y2='{bottom}'/>")
        parts.append(
            f"<text class='tick' x='{x:.1f}' y='{bottom + 15}' text-anchor='{anchor}'>"
            f"{escape(label)}</text>"
        )
    return parts


def _x(value: float, end: float) -> float:
    """The x position of a value; values beyond the axis are placed at its end."""
    share = min(max(value / end, 0.0), 1.0)
    return _LEFT + share * (_WIDTH - _LEFT - _RIGHT)


def _step(largest: float) -> float:
    """A step of 1, 2 or 5 times a power of ten that gives the axis four to nine steps."""
    power = 1e-6
    while True:
        for factor in (1, 2, 5):
            if largest / (factor * power) <= 8:
                return factor * power
        power *= 10
