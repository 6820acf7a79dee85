"""Rich consoles for tables and styled text that cannot control the terminal."""

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
    """A renderable whose text cannot control the terminal; its style can."""

    def __init__(self, inner: RenderableType) -> None:
        self._inner = inner

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        for segment in console.render(self._inner, options):
            yield segment if segment.control else Segment(shown(segment.text), segment.style)


class _Hook(RenderHook):
    """Wraps everything that a console prints in Shown."""

    def process_renderables(self, renderables: list[ConsoleRenderable]) -> list[ConsoleRenderable]:
        """Each renderable, wrapped."""
        return [Shown(each) for each in renderables]


class _SafeConsole(Console):
    """Raises BrokenPipeError when the reader has ended, instead of ending the program."""

    def on_broken_pipe(self) -> None:
        raise BrokenPipeError


def new_console(**options: Any) -> Console:
    """A rich console whose text cannot control the terminal."""
    console = _SafeConsole(**options)
    console.push_render_hook(_Hook())
    return console
