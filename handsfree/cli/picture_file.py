"""Writes a picture that a command has drawn."""

from __future__ import annotations

from pathlib import Path

from handsfree.errors import HandsfreeError


def write_picture(svg: Path, picture: str, error: type[HandsfreeError]) -> None:
    """Writes an SVG picture. On failure raises ``error`` with the file and the way out."""
    try:
        svg.write_text(picture, encoding="utf-8")
    except OSError as reason:
        raise error(
            "the picture cannot be written", file=svg, way_out="name a writable .svg file"
        ) from reason
