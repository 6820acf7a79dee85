"""A rehearsal in which you are the technician, at a simulated door that moves."""

from __future__ import annotations

import time
from contextlib import ExitStack, closing
from pathlib import Path

from rich.console import Console, Group
from rich.live import Live
from rich.text import Text

from handsfree.checks.limits import load_limits
from handsfree.cli.microphone_options import live_of
from handsfree.cli.output_file import keep_summary
from handsfree.cli.transcript import Conversation
from handsfree.cli.visit_setup import open_ears, second_ear, second_pass, visit_mouth
from handsfree.clock import SystemClock
from handsfree.controllers.guide import Guide
from handsfree.job.opening import Side
from handsfree.journal import events as ev
from handsfree.journal.reader import read
from handsfree.journal.writer import Journal
from handsfree.language.interpreter import Language
from handsfree.procedure.loader import load_procedure
from handsfree.rehearsal.ascii_plan import angle_at, drawn, plan
from handsfree.rehearsal.cycle import Cycle
from handsfree.rehearsal.door import Door
from handsfree.rehearsal.door_commands import HELP, DoorCommands
from handsfree.rehearsal.door_spec import DoorSpec
from handsfree.rehearsal.faults import is_found
from handsfree.rehearsal.misreadings import misreadings_in
from handsfree.rehearsal.rehearsal import default_procedure
from handsfree.rehearsal.side_channel import DoorSideChannel
from handsfree.reports.summary import summarize
from handsfree.settings import load_settings
from handsfree.visit.resume import first_state, opening_event
from handsfree.visit.session import Visit
from handsfree.visit_record.progress import Progress

_FRAME_S = 0.1


def yourself(
    console: Console,
    spec: DoorSpec,
    seed: int,
    procedure_name: str | None,
    guide: Guide | None,
    folder: Path,
    ears_named: str,
) -> None:
    """Runs the visit, with ``ears_named`` 'typed' or 'microphone', and prints its result."""
    door, language, settings = Door(spec, seed), Language.load(), load_settings()
    procedure = load_procedure(procedure_name or default_procedure(spec), guide)
    limits = load_limits(spec.sheet.limits)
    live = live_of(settings, {})
    begun = time.monotonic()
    with ExitStack() as stack:
        inner, model = open_ears(ears_named, language, live, stack)
        bench = DoorCommands(door, seed, lambda cycles: _show(console, spec, cycles))
        ears = DoorSideChannel(inner, bench, lambda lines: _print(console, lines))
        journal = stack.enter_context(Journal.create(folder))
        mouth = visit_mouth(folder, ears_named, settings, language.wording, live, inner)
        stack.enter_context(closing(mouth))
        if (ear := second_ear(ears_named, settings, language)) is not None:
            stack.callback(ear.close)
        console.print("A rehearsal: this door does not exist.", style="bold yellow")
        _print(console, ["At the door:", *HELP])
        visit = Visit(
            journal,
            first_state(spec.sheet, procedure, limits, times_by_ear=ears.can_time),
            language=language,
            ears=ears,
            mouth=mouth,
            clock=SystemClock(),
            watch=Conversation(console, language.wording),
            tones=settings.tones,
            retry=second_pass(ears_named, language),
            ear=ear,
        )
        shell = {"model": model, "ears": f"rehearsal, yourself, {ears_named}", "mouth": mouth.name}
        shell["controller"] = guide.name if guide is not None else ""
        shell["second_ear"] = ear.name if ear is not None else ""
        opened = opening_event(spec.sheet, procedure, limits, **shell)
        visit.open(opened, settings.speech_level, settings.confirm)
        visit.run()
        progress = visit.progress
    _tell_you(console, spec, bench, progress, read(folder), time.monotonic() - begun, folder)


def _show(console: Console, spec: DoorSpec, cycles: dict[Side, Cycle]) -> None:
    """Animates the door in real time; without a terminal, prints its times at once."""
    if not console.is_terminal:
        _print(console, [_told(side, cycle) for side, cycle in cycles.items()])
        return
    last_s = max(cycle.trace[-1][0] for cycle in cycles.values())
    begun = time.monotonic()
    with Live(console=console, refresh_per_second=round(1 / _FRAME_S), transient=True) as live:
        while (at_s := time.monotonic() - begun) < last_s + 1.0:
            live.update(frame(spec, cycles, at_s))
            time.sleep(_FRAME_S)


def _told(side: Side, cycle: Cycle) -> str:
    """A cycle in words, for output that cannot show an animation."""
    moments = (
        ("starts", cycle.starts_s),
        ("backcheck", cycle.backcheck_s),
        ("fully open", cycle.open_s),
        ("starts to close", cycle.closes_s),
        ("ten degrees", cycle.ten_s),
        ("shut", cycle.shut_s),
    )
    told = ", ".join(f"{name} {at_s:.2f}" for name, at_s in moments if at_s is not None)
    return f"{side} leaf, seconds from the press: {told or 'nothing moves'}"


def frame(spec: DoorSpec, cycles: dict[Side, Cycle], at_s: float) -> Group:
    """One frame of the moving door: floor plan, angles and clock."""
    angles = {side: angle_at(cycle.trace, at_s) for side, cycle in cycles.items()}
    named = "   ".join(f"{side} leaf {angle:3.0f} degrees" for side, angle in angles.items())
    page = "\n".join(plan(drawn(spec, angles)))
    return Group(Text(page), Text(f"{at_s:6.1f} s   {named}", style="bold"))


def _print(console: Console, lines: list[str]) -> None:
    for line in lines:
        console.print(Text(f"    door  {line}", style="yellow"))


def _tell_you(
    console: Console,
    spec: DoorSpec,
    bench: DoorCommands,
    progress: Progress,
    events: tuple[ev.Event, ...],
    wall_s: float,
    folder: Path,
) -> None:
    job = progress.job
    got = [fault.name for fault in spec.faults if is_found(fault, events, job)]
    missed = [f"{f.name} ({f.subject})" for f in spec.faults if not is_found(f, events, job)]
    mistakes = misreadings_in(job, spec, bench.hands)
    rows = [
        ("visit", "complete" if progress.closed else "not complete"),
        ("faults found", ", ".join(got) or "none"),
        ("faults missed", ", ".join(missed) or "none"),
        ("mistakes", str(len(mistakes))),
        ("time", f"{wall_s / 60:.0f} minutes"),
    ]
    table(console, rows, folder)
    for mistake in mistakes:
        console.print(f"You recorded {mistake.reading}; the door's own value is {mistake.truth}.")


def table(console: Console, rows: list[tuple[str, str]], folder: Path) -> None:
    """Prints the result of a rehearsal and writes the visit's summary into its folder."""
    keep_summary(folder, summarize(read(folder)))
    console.print()
    console.print("The rehearsal", style="bold")
    for name, value in rows:
        console.print(f"  {name:18} {value}")
    console.print(f"  {'kept in':18} {folder} (marked as a rehearsal)")
