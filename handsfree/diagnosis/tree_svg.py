"""Draws a search tree as SVG: checks on the left, causes on the right.

A check is drawn above the checks that it leads to, and answers label the lines. The text is part of
the picture, so it can be searched and read aloud; the colors adapt to a dark screen.
"""

from __future__ import annotations

import textwrap
from typing import NamedTuple

from markupsafe import escape

from handsfree.diagnosis.search_tree import Cause, Check, SearchTree

_LETTERS = 46
_LINE = 17
_PAD = 9
_WIDTH = 330
_LANE = 14
_GAP = 22
_TOP = 56
_STYLE = """
text { font: 13px sans-serif; fill: #111 } .title { font-size: 17px; font-weight: 600 }
.answer { font-size: 12px; font-weight: 600 } .if { font-size: 12px; font-style: italic }
rect { fill: #f4f6f8; stroke: #48535e } .cause { fill: #fff4d6; stroke: #8a6a00 }
path { fill: none; stroke: #48535e; stroke-width: 1.3 } .tip { fill: #48535e; stroke: none }
@media (prefers-color-scheme: dark) {
 text { fill: #eee } rect { fill: #20262c; stroke: #9fb0c0 }
 .cause { fill: #3a3010; stroke: #d8b24a }
 path { stroke: #9fb0c0 } .tip { fill: #9fb0c0 } }
"""


class _Box(NamedTuple):
    """A node in the picture: its lines of text, and its position in pixels."""

    lines: list[str]
    x: float
    y: float
    width: float
    is_cause: bool

    @property
    def height(self) -> float:
        return _LINE * len(self.lines) + 2 * _PAD

    @property
    def middle(self) -> float:
        return self.y + self.height / 2


def tree_svg(tree: SearchTree) -> str:
    """Draws a tree; the same file gives the same bytes.

    A cause is drawn next to every check that leads to it.
    """
    order = _checks_in_order(tree)
    edges = [(check, *edge) for check in order for edge in _edges(check)]
    far = [edge for edge in edges if _is_far(tree, order, edge)]
    left = 64 + _LANE * len(far)
    boxes: dict[str, _Box] = {}
    beside: dict[tuple[str, str], _Box] = {}
    y = float(_TOP)
    for check in order:
        text = check.ask + (f" [{', '.join(check.applies)}]" if check.applies else "")
        boxes[check.id] = _Box(_wrapped(text), left, y, _WIDTH, False)
        at = y
        for target in check.targets:
            if isinstance(cause := tree.node(target), Cause):
                box = _Box(_wrapped(cause.found), left + _WIDTH + 90, at, _WIDTH, True)
                beside[check.id, target] = box
                at += box.height + 8
        y = max(boxes[check.id].y + boxes[check.id].height, at - 8) + _GAP
    width = left + 2 * _WIDTH + 110
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {y:g}" width="{width}"'
        f' height="{y:g}" role="img" aria-label="{escape(tree.title)}">',
        f"<style>{_STYLE}</style>",
        f'<text class="title" x="20" y="30">{escape(tree.title)}</text>',
    ]
    far.sort(key=lambda edge: boxes[edge[2]].y - boxes[edge[0].id].y)
    for edge in edges:
        check, said, target = edge
        end = beside.get((check.id, target)) or boxes[target]
        if edge in far:
            lane_x = left - 34 - far.index(edge) * _LANE
            parts += _around(boxes[check.id], end, said, lane_x)
        else:
            parts += _straight(boxes[check.id], end, said)
    parts += [_drawn(box) for box in (*boxes.values(), *beside.values())]
    return "\n".join((*parts, "</svg>", ""))


def _edges(check: Check) -> list[tuple[str, str]]:
    """Each answer and where it leads; 'else' if the check does not apply."""
    edges = [(check.answers.get(value, value), target) for value, target in check.on.items()]
    return [*edges, *([("else", check.otherwise)] if check.otherwise else [])]


def _checks_in_order(tree: SearchTree) -> list[Check]:
    """Every check after those that lead to it."""
    order: list[Check] = []

    def visit(node_id: str) -> None:
        node = tree.node(node_id)
        if isinstance(node, Check) and node not in order:
            for target in reversed(node.targets):
                visit(target)
            order.append(node)

    visit(tree.first)
    return order[::-1]


def _is_far(tree: SearchTree, order: list[Check], edge: tuple[Check, str, str]) -> bool:
    """True if the line has to go around: its target is neither next to the check nor below it."""
    check, said, target = edge
    below = order[order.index(check) + 1 :][:1]
    next_below = bool(below) and below[0].id == target and said != "else"
    return isinstance(tree.node(target), Check) and not next_below


def _wrapped(text: str) -> list[str]:
    return textwrap.wrap(text, _LETTERS)


def _drawn(box: _Box) -> str:
    kind = ' class="cause"' if box.is_cause else ""
    x, top = box.x + _PAD, box.y + _PAD + 12
    lines = "".join(
        f'<tspan x="{x:g}" y="{top + _LINE * nth:g}">{escape(line)}</tspan>'
        for nth, line in enumerate(box.lines)
    )
    rect = f'<rect{kind} x="{box.x:g}" y="{box.y:g}" width="{box.width:g}"'
    return f'{rect} height="{box.height:g}" rx="5"/><text>{lines}</text>'


def _straight(start: _Box, end: _Box, said: str) -> list[str]:
    if end.is_cause:
        x, y = start.x + start.width, min(max(end.middle, start.y + 8), start.y + start.height - 8)
        bend = f"M{x:g} {y:g}H{x + 40:g}V{end.middle:g}H{end.x - 7:g}"
        return [_path(bend), _tip(end.x, end.middle, "right"), _said(x + 4, end.middle - 5, said)]
    x = start.x + 40
    line = f"M{x:g} {start.y + start.height:g}V{end.y - 7:g}"
    return [_path(line), _tip(x, end.y, "down"), _said(x + 6, end.y - 7, said)]


def _around(start: _Box, end: _Box, said: str, lane_x: float) -> list[str]:
    """A line to a check farther below, in a separate lane on the left."""
    y = start.y + start.height - 10
    path = f"M{start.x:g} {y:g}H{lane_x:g}V{end.middle:g}H{end.x - 7:g}"
    label = f'<text class="answer" x="{start.x - 5:g}" y="{y - 4:g}" text-anchor="end">'
    return [_path(path), _tip(end.x, end.middle, "right"), f"{label}{escape(said)}</text>"]


def _path(d: str) -> str:
    return f'<path d="{d}"/>'


def _tip(x: float, y: float, way: str) -> str:
    shape = f"M{x:g} {y:g}l-8 -4v8z" if way == "right" else f"M{x:g} {y:g}l-4 -8h8z"
    return f'<path class="tip" d="{shape}"/>'


def _said(x: float, y: float, text: str) -> str:
    return f'<text class="answer" x="{x:g}" y="{y:g}">{escape(text)}</text>'
