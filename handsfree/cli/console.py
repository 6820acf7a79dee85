"""Consoles of rich for tables and styled text, whose text cannot command the terminal."""

from __future__ import annotations

from typing import Any

from rich.console import (
    Console,
    ConsoleOptions,
    ConsoleRenderable,
    RenderableType,
    RenderHook,
    RenderResult,
)
from rich.segment import Segment

from handsfree.cli.terminal import shown


class Shown:
    """Something to print whose text commands no terminal; its style does."""

    def __init__(self, inner: RenderableType) -> None:
        self._inner = inner

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        for segment in console.render(self._inner, options):
            yield segment if segment.control else Segment(shown(segment.text), segment.style)


class _Hook(RenderHook):
    """Has a console show everything so."""

    def process_renderables(self, renderables: list[ConsoleRenderable]) -> list[ConsoleRenderable]:
        """Each as Shown."""
        return [Shown(each) for each in renderables]


class _SafeConsole(Console):
    """Raises BrokenPipeError where nobody reads any more, instead of ending the program."""

    def on_broken_pipe(self) -> None:
        raise BrokenPipeError


def new_console(**options: Any) -> Console:
    """A console of rich whose text commands no terminal."""
    console = _SafeConsole(**options)
    console.push_render_hook(_Hook())
    return console
