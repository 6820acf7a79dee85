"""The panel below a live visit: step, last words, level, readings. Nothing depends on it."""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from contextlib import ExitStack, suppress
from types import TracebackType
from typing import Self

import click
import numpy as np
from numpy.typing import NDArray
from rich import box
from rich.console import Console, Group, RenderableType
from rich.live import Live as Display
from rich.panel import Panel
from rich.table import Table
from rich.text import Text

from handsfree.cli.console import Shown
from handsfree.cli.transcript import Conversation
from handsfree.job.finding import Verdict
from handsfree.journal import events as ev
from handsfree.language.wording import Wording
from handsfree.visit.session import Watcher
from handsfree.visit_record.glance import Glance, LiveState

view_option = click.option(
    "--view", is_flag=True, help="Show step, level and readings in a panel below the conversation."
)
OnBlock = Callable[[NDArray[np.int16]], None]
"""Takes a block of the microphone's sound, 16 kHz mono."""

_LOWEST_DB = -60.0
_METER_WIDTH = 24
_STYLES = {
    Verdict.PASS: "green",
    Verdict.FAIL: "bold red",
    Verdict.TOO_CLOSE: "yellow",
    Verdict.NOT_JUDGED: "dim",
}


def view_of(glance: Glance, level_db: float | None = None) -> RenderableType:
    """The panel: step, question, last words, microphone level, readings.

    ``level_db`` is relative to full scale, None without a microphone.
    """
    top = Table.grid(padding=(0, 2))
    top.add_column(style="dim", justify="right")
    top.add_column(overflow="fold")
    top.add_row("step", Text(glance.step, style="bold"))
    top.add_row("waits", glance.waits)
    missed = "" if glance.understood else "  (not understood)"
    top.add_row("heard", Text(glance.heard + missed, style="" if glance.understood else "dim"))
    if level_db is not None:
        top.add_row("level", meter(level_db))
    if glance.fault:
        top.add_row("fault", Text(glance.fault, style="bold red"))
    parts: list[RenderableType] = [top]
    if glance.rows:
        table = Table(box=box.SIMPLE_HEAD, padding=(0, 1))
        for head in ("leaf", "reading", "runs", "limit", "verdict"):
            table.add_column(head, overflow="fold")
        for row in glance.rows:
            style = _STYLES.get(row.verdict, "") if row.verdict else ""
            told = Text(str(row.verdict or ""), style=style)
            table.add_row(row.subject, row.quantity, " ".join(row.values), row.limit, told)
        parts.append(table)
    return Shown(Panel(Group(*parts), box=box.SQUARE, border_style="dim"))


def meter(level_db: float) -> Text:
    """A bar from -60 dB to full scale; it turns red near clipping."""
    share = min(1.0, max(0.0, 1 - level_db / _LOWEST_DB))
    full = round(share * _METER_WIDTH)
    style = "red" if level_db > -3 else "green"
    bar = Text("█" * full, style=style) + Text("·" * (_METER_WIDTH - full), style="dim")
    return bar + Text(f" {level_db:.0f} dB", style="dim")


class View:
    """Keeps the panel below the conversation. A terminal that fails ends only the panel."""

    def __init__(self, console: Console, *, now_s: Callable[[], float] = time.monotonic) -> None:
        self._state = LiveState()
        self._level_db: float | None = None
        self._now_s = now_s
        self._shown_s = 0.0
        self._display: Display | None = Display(
            view_of(self._state.glance), console=console, auto_refresh=False, transient=True
        )

    def __enter__(self) -> Self:
        self._safely(lambda display: display.start())
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        traceback: TracebackType | None,
    ) -> None:
        self._safely(lambda display: display.stop())

    def __call__(self, event: ev.Event) -> None:
        """Takes an event of the visit."""
        self._state.apply(event)
        self._show()

    def hear(self, samples: NDArray[np.int16]) -> None:
        """Takes a block of sound for the level, which is shown ten times a second."""
        power = float(np.mean(np.square(samples.astype(np.float64)))) if len(samples) else 0.0
        now_db = 10 * math.log10(max(power, 1e-3) / 32768**2)
        before = _LOWEST_DB if self._level_db is None else self._level_db
        self._level_db = max(now_db, before - 1.0)  # falls slowly, so that a word is visible
        if self._now_s() - self._shown_s > 0.1:
            self._show()

    def _show(self) -> None:
        self._shown_s = self._now_s()
        panel = view_of(self._state.glance, self._level_db)
        self._safely(lambda display: display.update(panel, refresh=True))

    def _safely(self, act: Callable[[Display], None]) -> None:
        if self._display is None:
            return
        try:
            act(self._display)
        except (OSError, ValueError, UnicodeError):
            display, self._display = self._display, None
            with suppress(OSError, ValueError, UnicodeError):
                display.stop()


def watchers(
    console: Console, w: Wording, stack: ExitStack, *, view: bool, typed: bool = False
) -> tuple[Watcher, OnBlock]:
    """The watchers of events and of sound; a ``typed`` visit needs its conversation shown."""
    conversation = Conversation(console, w, needed=typed)
    if not view:
        return conversation, lambda samples: None
    panel = stack.enter_context(View(console))

    def both(event: ev.Event) -> None:
        conversation(event)
        panel(event)

    return both, panel.hear
