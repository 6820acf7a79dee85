"""Draws the opening in plan view, as known, in the style of a building plan.

The side that the job names is at the bottom. Only recorded facts are drawn: a leaf without a hinge
side or an action appears shut and dashed.
"""

from __future__ import annotations

import math
from html import escape

from handsfree.job.opening import Action, Activation, Leaf, Opening, Side, Swing

_WIDTH = 480
_GAP = 260  # from jamb to jamb
_LEFT_JAMB = (_WIDTH - _GAP) / 2
_RIGHT_JAMB = _LEFT_JAMB + _GAP
_SWINGS = {
    Swing.SINGLE: "a single leaf",
    Swing.SAME_WAY: "a pair that swings the same way",
    Swing.DOUBLE_EGRESS: "a double-egress pair",
}


def opening_svg(opening: Opening, plates: dict[Side, str] | None = None) -> str:
    """The drawing. ``plates`` holds the text at each known plate ('40 in high').

    It takes its colors from the page.
    """
    reach = _GAP if len(opening.leaves) == 1 else _GAP / 2
    up = any(_swings(leaf) == "away" for leaf in opening.leaves)
    down = any(_swings(leaf) == "towards" for leaf in opening.leaves)
    above = 24 + (reach + 8 if up else 20)
    below = (reach + 14 if down else 38) + 60
    wall = above
    parts = [
        f"<svg class='plan' role='img' viewBox='0 0 {_WIDTH} {above + below:.0f}' "
        f"aria-label='{escape(opening_words(opening, plates), quote=True)}'>",
        f"<path class='wall' d='M0,{wall - 9} H{_LEFT_JAMB} V{wall + 9} H0 M{_WIDTH},{wall - 9} "
        f"H{_RIGHT_JAMB} V{wall + 9} H{_WIDTH}'/>",
    ]
    for leaf in opening.leaves:
        parts += _leaf(leaf, len(opening.leaves), wall, reach)
    parts += _motors(opening, wall)
    if opening.activation in (Activation.PUSH_PLATES, Activation.TOUCHLESS_SWITCH):
        parts += _plates(plates or {}, wall)
    seen = f"seen from: {opening.seen_from}"
    parts.append(
        f"<text class='from' x='{_WIDTH / 2}' y='{above + below - 10:.0f}' text-anchor='middle'>"
        f"{escape(_short(seen, 60))}</text>"
        f"<path class='eye' d='M{_WIDTH / 2 - 7},{above + below - 26:.0f} l7,-9 l7,9'/>"
    )
    return "".join([*parts, "</svg>"])


def opening_words(opening: Opening, plates: dict[Side, str] | None = None) -> str:
    """The drawing in words."""
    parts = [f"{opening.name}, {_SWINGS[opening.swing]}, seen from {opening.seen_from}"]
    for leaf in opening.leaves:
        hinges = f"hinges {leaf.hinge_side}" if leaf.hinge_side else "hinges unknown"
        action = f"{leaf.action} to open" if leaf.action else "push or pull?"
        size = ", ".join(str(m) for m in (leaf.width, leaf.height, leaf.weight) if m)
        parts.append(f"{leaf.name} leaf: {hinges}, {action}{f', {size}' if size else ''}")
    for motor in opening.motors:
        on = f"on the {motor.leaf} leaf" if motor.leaf else "its leaf not recorded"
        hand = f"{motor.hand} hand" if motor.hand else "hand not recorded"
        parts.append(f"motor {motor.number}: {on}, {hand}")
    parts += [f"{side} plate: {words}" for side, words in (plates or {}).items()]
    return "; ".join(parts)


def _swings(leaf: Leaf) -> str | None:
    """True if the leaf swings away from the viewer, False if toward; None if not recorded."""
    if leaf.hinge_side is None or leaf.action is None:
        return None
    return "away" if leaf.action is Action.PUSH else "towards"


def _leaf(leaf: Leaf, leaves: int, wall: float, reach: float) -> list[str]:
    """A leaf shut (thin) and open (thick), with its arc and its size."""
    begin = _LEFT_JAMB if leaves == 1 or leaf.name is Side.LEFT else _LEFT_JAMB + reach
    hinge_x = begin if leaf.hinge_side is not Side.RIGHT else begin + reach
    other_x = begin + reach if hinge_x == begin else begin
    swings = _swings(leaf)
    name = "leaf" if leaves == 1 else f"{leaf.name} leaf"
    size = " by ".join(str(m) for m in (leaf.width, leaf.height) if m)
    words = [name, *([size] if size else []), *([str(leaf.weight)] if leaf.weight else [])]
    middle = begin + reach / 2
    if swings is None:
        # Short, so that the texts under two leaves do not touch.
        missing = "hinges unknown" if leaf.hinge_side is None else "push or pull?"
        return [
            f"<line class='leaf untold' x1='{begin + 2}' x2='{begin + reach - 2}' "
            f"y1='{wall}' y2='{wall}'/>",
            *_words([*words, missing], middle, wall + 24),
        ]
    angle = math.radians(min(max(float(leaf.open_angle_deg or 90), 20.0), 120.0))
    towards = 1 if swings == "towards" else -1
    along = 1 if other_x > hinge_x else -1
    tip_x = hinge_x + along * reach * math.cos(angle)
    tip_y = wall + towards * reach * math.sin(angle)
    sweep = 1 if along * towards > 0 else 0
    inside = wall + towards * (reach * 0.42)
    return [
        f"<path class='sweep' d='M{hinge_x:.1f},{wall} L{other_x:.1f},{wall} "
        f"A{reach},{reach} 0 0 {sweep} {tip_x:.1f},{tip_y:.1f} Z'/>",
        f"<line class='shut' x1='{hinge_x:.1f}' x2='{other_x:.1f}' y1='{wall}' y2='{wall}'/>",
        f"<path class='arc' d='M{other_x:.1f},{wall} A{reach},{reach} 0 0 {sweep} "
        f"{tip_x:.1f},{tip_y:.1f}'/>",
        f"<line class='leaf' x1='{hinge_x:.1f}' y1='{wall}' x2='{tip_x:.1f}' y2='{tip_y:.1f}'/>",
        f"<circle class='hinge' cx='{hinge_x:.1f}' cy='{wall}' r='5'/>",
        *_words(words, middle, inside - 7 * (len(words) - 1)),
    ]


def _motors(opening: Opening, wall: float) -> list[str]:
    """A box for each motor: over its leaf's hinges, or over the middle if the leaf is unknown."""
    parts = []
    loose = 0
    for motor in opening.motors:
        leaf = opening.leaf(motor.leaf) if motor.leaf else None
        hand = f"{motor.hand} hand" if motor.hand else "hand not recorded"
        if leaf is None:
            x, words = _LEFT_JAMB + 60 + 140 * loose, f"motor {motor.number}: leaf not recorded"
            loose += 1
            x = min(x, _RIGHT_JAMB - 60)
        else:
            both = len(opening.leaves) == 2
            begin = _LEFT_JAMB + (_GAP / 2 if both and leaf.name is Side.RIGHT else 0)
            width = _GAP / 2 if both else _GAP
            x = begin + (width - 34 if leaf.hinge_side is Side.RIGHT else 34)
            words = f"motor {motor.number}, {hand}"
        # On the header: if the leaf swings away, the box lies in its sweep, as in a building plan.
        parts.append(
            f"<rect class='motor' x='{x - 26:.1f}' y='{wall - 7}' width='52' height='14' rx='2'/>"
            f"<text class='number' x='{x:.1f}' y='{wall + 4}' text-anchor='middle'>"
            f"{motor.number}</text>"
        )
        anchor = "start" if x < _WIDTH / 2 else "end"
        at = 8 if anchor == "start" else _WIDTH - 8
        y = 16 + (16 * (motor.number - 1) if len(opening.leaves) == 1 else 0)
        parts.append(f"<text x='{at}' y='{y}' text-anchor='{anchor}'>{escape(words)}</text>")
    return parts


def _plates(plates: dict[Side, str], wall: float) -> list[str]:
    """A square for the push plate on each side; its place on the wall is not recorded."""
    parts = []
    for side in (Side.LEFT, Side.RIGHT):
        x = 24.0 if side is Side.LEFT else _WIDTH - 24.0
        anchor, at = ("start", 8) if side is Side.LEFT else ("end", _WIDTH - 8)
        parts.append(
            f"<rect class='plate' x='{x - 7}' y='{wall + 13}' width='14' height='14' rx='1'/>"
            f"<circle class='press' cx='{x}' cy='{wall + 20}' r='3'/>"
        )
        lines = [f"{side} plate", *(plates.get(side, "").split(", ") if side in plates else [])]
        parts += [
            f"<text class='small at-wall' x='{at}' y='{wall + 44 + 16 * nth}' "
            f"text-anchor='{anchor}'>{escape(line)}</text>"
            for nth, line in enumerate(lines)
        ]
    return parts


def _words(lines: list[str], x: float, y: float) -> list[str]:
    return [
        f"<text class='{'name' if nth == 0 else 'small'}' x='{x:.1f}' y='{y + 17 * nth:.1f}' "
        f"text-anchor='middle'>{escape(line)}</text>"
        for nth, line in enumerate(lines)
    ]


def _short(text: str, most: int) -> str:
    return text if len(text) <= most else text[: most - 1] + "…"
