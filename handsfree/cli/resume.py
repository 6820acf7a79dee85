"""Continues a visit after a break: ``handsfree resume``."""

from __future__ import annotations

from contextlib import ExitStack
from pathlib import Path
from typing import Any

import click

from handsfree import __version__
from handsfree.checks.limits import load_limits
from handsfree.cli.live_view import view_option
from handsfree.cli.microphone_options import live_of, live_options
from handsfree.cli.output_file import SUMMARY
from handsfree.cli.resume_point import heard_until_s, last_ears, last_voice
from handsfree.cli.shutdown import ending_on_signal
from handsfree.cli.visit_devices import VisitDevices
from handsfree.cli.visit_ending import finish, take_photos, visit_console
from handsfree.cli.visit_setup import TYPED, devices_named, source_name
from handsfree.clock import SystemClock
from handsfree.errors import JournalError
from handsfree.journal import events as ev
from handsfree.journal.reader import read
from handsfree.journal.writer import Journal
from handsfree.language.interpreter import Language
from handsfree.reports.summary import summarize
from handsfree.reports.summary_text import summary_text
from handsfree.settings import load_settings
from handsfree.toml_source import file_bytes
from handsfree.visit.clock_monitor import clock_set_back, last_entry_at
from handsfree.visit.procedure_of_visit import procedure_of_visit
from handsfree.visit.resume import state_of, unwritten_events


@click.command()
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--sound", type=click.Path(path_type=Path), help="Listen to this recording.")
@click.option("--typed", is_flag=True, help="Take typed lines from here on.")
@click.option("--live", is_flag=True, help="Listen to the microphone from here on.")
@live_options
@view_option
def resume(
    folder: Path, sound: Path | None, typed: bool, live: bool, view: bool, **devices: Any
) -> None:
    """Continues a visit after a break, at the step where it stopped.

    It listens as before. A recording continues after the last utterance that was heard.

    \b
    Examples:
      handsfree resume my-visit
      handsfree resume my-visit --typed
    """
    if typed + live + (sound is not None) > 1:
        raise click.UsageError("give only one of --typed, --live and --sound FILE")
    chosen = source_name(sound, typed, devices)
    named = typed or live or sound is not None or devices_named(devices)
    with ending_on_signal(folder), Journal.open(folder, SystemClock().utc()) as journal:
        events = read(folder)
        first = events[0].body if events else None
        if not isinstance(first, ev.VisitOpened):
            raise JournalError("does not begin with the opening of a visit", file=folder, line=1)
        if first.ears.startswith(ev.REHEARSAL):
            raise JournalError(
                "cannot resume a rehearsal: its simulated door is gone",
                file=folder,
                way_out="start over: handsfree rehearse with the same --door and --seed",
            )
        before, last_at = last_ears(events), last_entry_at(events)
        name = chosen if named else before
        language, settings = Language.load(language=first.sheet.language), load_settings()
        procedure = procedure_of_visit(first)
        limits, by_ear = load_limits(first.sheet.limits), name != TYPED
        parts_of = (procedure, limits, language, folder)
        if missing := unwritten_events(events, *parts_of, times_by_ear=by_ear):
            events += journal.append_all(missing, SystemClock().utc())
        state = state_of(events, *parts_of, times_by_ear=by_ear)
        if state.progress.closed:
            if _summary_is_behind(folder, events):  # killed between closing and summary
                journal.close()
                finish(folder, visit_console(), language.wording)
                return
            raise JournalError(
                "this visit is closed",
                file=folder,
                way_out=f"see it with: handsfree summary {folder}",
            )
        start_s = heard_until_s(events) if name == before else 0.0
        with ExitStack() as stack:
            opened = VisitDevices(
                name,
                language,
                settings,
                live_of(settings, devices),
                stack,
                view=view,
                start_s=start_s,
            )
            voice = last_voice(events, folder) if name == before else 0.0
            mouth = opened.open_mouth(folder)
            going_on, named_devices = opened.visit(journal, state, mouth, voice=voice)
            resumed = ev.VisitResumed(version=__version__, **named_devices)
            going_on.reopen(resumed, *clock_set_back(last_at, SystemClock().utc()))
            if going_on.run():
                take_photos(journal, opened.console)
    finish(folder, opened.console, language.wording)


def _summary_is_behind(folder: Path, events: tuple[ev.Event, ...]) -> bool:
    """True if the folder's summary is missing or older than its journal."""
    try:
        there = file_bytes(folder / SUMMARY).decode()
    except (OSError, UnicodeDecodeError):
        return True
    return there != summary_text(summarize(events))
