"""The panel below a live visit: step, last words, level, readings. The visit does not depend on
it.
"""

from __future__ import annotations

import math
import sys
import time
from collections.abc import Callable
from contextlib import ExitStack, suppress
from types import TracebackType
from typing import Self

import click
import numpy as np
from numpy.typing import NDArray
from rich import box
from rich.cells import cell_len
from rich.console import Console, Group, RenderableType
from rich.control import Control
from rich.live import Live as Display
from rich.panel import Panel
from rich.segment import ControlType
from rich.table import Table
from rich.text import Text

from handsfree.cli.console import Shown
from handsfree.cli.transcript import Conversation
from handsfree.dialogue import sentences
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

HEADS = ("leaf", "reading", "runs", "limit", "verdict")
"""Columns of the readings."""
_LOWEST_DB = -60.0
_METER_WIDTH = 24
_STYLES = {
    Verdict.PASS: "green",
    Verdict.FAIL: "bold red",
    Verdict.TOO_CLOSE: "yellow",
    Verdict.NOT_JUDGED: "dim",
}


def view_of(
    glance: Glance, w: Wording, level_db: float | None = None, place: str = ""
) -> RenderableType:
    """Lays out the panel: step, question, last words, microphone level, readings, typed line.

    ``level_db`` is relative to full scale, None without a microphone. ``place`` is the step with
    its number, if known.
    """
    top = Table.grid(padding=(0, 2))
    top.add_column(style="dim", justify="right")
    top.add_column(overflow="fold")
    top.add_row(w.say("panel_step"), Text(place or glance.step, style="bold"))
    top.add_row(w.say("panel_waits"), Text(glance.waits))
    missed = "" if glance.understood else f"  ({w.say('heard_missed')})"
    top.add_row(
        w.say("who_heard"), Text(glance.heard + missed, style="" if glance.understood else "dim")
    )
    if level_db is not None:
        top.add_row(w.say("panel_level"), meter(level_db))
    if glance.fault:
        told = w.say(f"fault_{glance.fault.replace(' ', '_')}")
        top.add_row(w.say("panel_fault"), Text(told, style="bold red"))
    parts: list[RenderableType] = [top]
    if glance.rows:
        table = Table(box=box.SIMPLE_HEAD, padding=(0, 1))
        for head in HEADS:
            table.add_column(w.say(f"panel_{head}"), overflow="fold")
        for row in glance.rows:
            style = _STYLES.get(row.verdict, "") if row.verdict else ""
            ruled = Text(_verdict(w, row.verdict), style=style)
            limit = ", ".join(
                f"{w.say(bound.replace(' ', '_'))} {limit}" for bound, limit in row.limits
            )
            name = w.name("rule", row.quantity)
            table.add_row(w.subject(row.subject), name, " ".join(row.values), limit, ruled)
        parts.append(table)
    return Shown(Group(Panel(Group(*parts), box=box.SQUARE, border_style="dim"), Text("")))


def _verdict(w: Wording, verdict: Verdict | None) -> str:
    if verdict is None:
        return ""
    return w.say(sentences.VERDICTS[verdict]).rstrip(".").lower()


def meter(level_db: float) -> Text:
    """A bar from -60 dB to full scale; it turns red near clipping."""
    share = min(1.0, max(0.0, 1 - level_db / _LOWEST_DB))
    full = round(share * _METER_WIDTH)
    style = "red" if level_db > -3 else "green"
    bar = Text("█" * full, style=style) + Text("·" * (_METER_WIDTH - full), style="dim")
    return bar + Text(f" {level_db:.0f} dB", style="dim")


class View:
    """Keeps the panel below the conversation. If the terminal fails, only the panel ends."""

    def __init__(
        self,
        console: Console,
        w: Wording,
        *,
        now_s: Callable[[], float] = time.monotonic,
        place: Callable[[], str] = lambda: "",
        echoes: bool = False,
    ) -> None:
        """``place`` names the current step; ``echoes`` is True if the terminal shows typed text."""
        self._state = LiveState()
        self._console = console
        self._w = w
        self._place = place
        self._echoes = echoes
        self._level_db: float | None = None
        self._now_s = now_s
        self._shown_s = 0.0
        self._display: Display | None = Display(
            view_of(self._state.glance, w), console=console, auto_refresh=False, transient=True
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

    def before(self, event: ev.Event) -> None:
        """Clears a line that was typed below the panel, so that the panel can be redrawn in place.

        The terminal echoed the line and moved the cursor below it.
        """
        body = event.body
        if not self._echoes or not isinstance(body, ev.Heard) or body.start_s is not None:
            return
        rows = 1 + cell_len(body.text) // max(1, self._console.width)
        wiped = [(ControlType.CURSOR_UP, 1), (ControlType.ERASE_IN_LINE, 2)] * rows
        self._safely(lambda display: self._console.control(Control(*wiped)))

    def hear(self, samples: NDArray[np.int16]) -> None:
        """Takes a block of sound and updates the level meter ten times a second."""
        power = float(np.mean(np.square(samples.astype(np.float64)))) if len(samples) else 0.0
        now_db = 10 * math.log10(max(power, 1e-3) / 32768**2)
        before = _LOWEST_DB if self._level_db is None else self._level_db
        self._level_db = max(now_db, before - 1.0)  # decays slowly, so that a word stays visible
        if self._now_s() - self._shown_s > 0.1:
            self._show()

    def _show(self) -> None:
        self._shown_s = self._now_s()
        panel = view_of(self._state.glance, self._w, self._level_db, self._place())
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
    console: Console,
    w: Wording,
    stack: ExitStack,
    *,
    view: bool,
    typed: bool = False,
    place: Callable[[], str] = lambda: "",
) -> tuple[Watcher, OnBlock]:
    """The watchers of events and of sound; a ``typed`` visit needs its conversation shown.

    ``place`` names the current step.
    """
    conversation = Conversation(console, w, needed=typed)
    if not view:
        return conversation, lambda samples: None
    echoes = sys.stdin is not None and sys.stdin.isatty()
    panel = stack.enter_context(View(console, w, place=place, echoes=echoes))

    def both(event: ev.Event) -> None:
        panel.before(event)
        conversation(event)
        panel(event)

    return both, panel.hear
