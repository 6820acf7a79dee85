"""Runs a visit from a job file, resumes one after a break, or plays a recorded one.

The commands are ``handsfree visit``, ``handsfree resume`` and ``handsfree demo``.
"""

from __future__ import annotations

from contextlib import ExitStack, suppress
from pathlib import Path
from typing import Any, get_args

import click
from rich.console import Console

from handsfree import __version__
from handsfree.checks.limits import load_limits, shipped_limits
from handsfree.cli.console import new_console
from handsfree.cli.job_choice import choose_job
from handsfree.cli.job_names import slug
from handsfree.cli.live_view import view_option, watchers
from handsfree.cli.microphone_options import MICROPHONE, Live, live_of, live_options
from handsfree.cli.output_file import SUMMARY, keep_summary
from handsfree.cli.photos import take_in
from handsfree.cli.procedure_choice import NAME_PROCEDURE, asked_procedure
from handsfree.cli.resume_point import heard_until_s, last_ears, last_voice
from handsfree.cli.shutdown import ends_when_told
from handsfree.cli.terminal import echo
from handsfree.cli.transcript import Conversation
from handsfree.cli.visit_setup import (
    SOUND,
    TYPED,
    ears_name,
    open_ears,
    second_ear,
    second_hearing,
    visit_mouth,
)
from handsfree.clock import SystemClock, zone_here
from handsfree.controllers.guide_loader import load_guide
from handsfree.data import data_folder
from handsfree.errors import JobError, JournalError
from handsfree.job.closed_lists import Confirm
from handsfree.job.job import Sheet
from handsfree.job_file.loader import load_sheet
from handsfree.journal import events as ev
from handsfree.journal.photo_files import DROPPED
from handsfree.journal.reader import read
from handsfree.journal.writer import Journal
from handsfree.language.interpreter import Language
from handsfree.language.wording import ENGLISH, Wording, wording
from handsfree.procedure.loader import load_procedure
from handsfree.procedure.step import Procedure
from handsfree.reports.summary import summarize, summary_of
from handsfree.reports.summary_text import summary_text
from handsfree.settings import load_settings
from handsfree.toml_source import file_bytes
from handsfree.visit.clock_monitor import clock_set_back
from handsfree.visit.last_visit import visit_reader
from handsfree.visit.numbered_question import NumberedQuestion
from handsfree.visit.resume import first_state, opening_event, state_of, unwritten_events
from handsfree.visit.session import Visit
from handsfree.visit_record.visit_record import record_of

PROCEDURE = "controller-replaced-pair"
VISITS = Path("visits")
DEMO = Path("demo-visit")
NOT_LIVE = Live()
KEEP_LESS = "handsfree settings set keep_clips readings"


@click.command()
@click.option(
    "--job",
    type=click.Path(path_type=Path),
    help="The job file (TOML); by default you choose one of today's.",
)
@click.option(
    "--procedure",
    help="A procedure's name or file; by default that of the job file, or you are asked.",
)
@click.option(
    "--controller",
    help="The guide of the controller: its name or file; by default that of the job file.",
)
@click.option("--language", help="The language of the visit; by default that of the job file.")
@click.option("--sound", type=click.Path(path_type=Path), help="Listen to this recording.")
@click.option("--typed", is_flag=True, help="Take typed lines instead of sound.")
@click.option(
    "--confirm",
    type=click.Choice(get_args(Confirm)),
    help="Which answers need your affirm; by default as your settings say.",
)
@live_options
@view_option
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    help="The visit's folder; by default below visits/, named after the job's reference.",
)
def visit(
    job: Path | None,
    procedure: str | None,
    controller: str | None,
    language: str | None,
    sound: Path | None,
    typed: bool,
    confirm: Confirm | None,
    out: Path | None,
    view: bool,
    **devices: Any,
) -> None:
    """Runs a visit: by microphone, from a recording, or typed.

    Without --job it lists the job files here and in jobs/ by number, those of today and before.
    'handsfree new' writes one. With a microphone you can type lines at any time, too. Try
    sound-check first.

    \b
    Examples:
      handsfree visit
      handsfree visit --job harbour-hall.job.toml
      handsfree visit --job harbour-hall.job.toml --headset --microphone "USB headset"
      handsfree visit --job harbour-hall.job.toml --typed
      handsfree visit --job lobby.job.toml --typed --controller my-guide.toml
      handsfree visit --job harbour-hall.job.toml --sound visit.flac --out my-visit
    """
    name = _source(sound, typed, devices)
    today = SystemClock().utc().astimezone().date()
    sheet = load_sheet(job or choose_job(today), shipped_limits(), visit_reader(today))
    if language is not None:
        sheet = sheet.model_copy(update={"language": wording(language).language})
    live = live_of(load_settings(), devices)
    out = out or _new_folder(sheet)
    guide = controller or sheet.controller_guide or load_settings().controller_guide or ""
    chosen = procedure or sheet.procedure
    _run(out, sheet, chosen, name, guide, live, view=view, confirm=confirm)


@click.command()
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    help="The visit's folder; by default demo-visit, with the time added where that exists.",
)
def demo(out: Path | None) -> None:
    """Plays a recorded visit through the real loop.

    The job, the building and the people are invented. The sound is real: it is recognized,
    answered and checked like any other, as fast as it can be. The folder then holds the journal,
    the clips, the tool's speech as WAV and a summary.

    \b
    Example:
      handsfree demo --out demo-visit
    """
    fixtures = data_folder("audio_fixtures")
    sheet = load_sheet(fixtures / "harbour-hall.job.toml", shipped_limits())
    if out is None:
        out = DEMO if not DEMO.exists() else DEMO.with_name(f"{DEMO}-{_now()}")
    # In the recording every value gets its 'affirm'.
    _run(out, sheet, PROCEDURE, ears_name(fixtures / "harbour-hall.flac"), confirm="every")
    echo(
        f"\nNext:\n"
        f"  handsfree report {out} --open    the visit as a page, with the sound of each reading\n"
        f"  handsfree record {out}    the owner's record as PDF\n"
        f"  handsfree office {out} --open    listen, correct and sign off in the browser\n"
        f"  handsfree sound-check    before your own visit: handsfree visit --help"
    )


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
    """Continues a visit after a break, at the step where it stood.

    It listens as before. A recording continues after the last utterance that was heard.

    \b
    Examples:
      handsfree resume my-visit
      handsfree resume my-visit --typed
    """
    if typed + live + (sound is not None) > 1:
        raise click.UsageError("give only one of --typed, --live and --sound FILE")
    chosen = _source(sound, typed, devices)
    named = typed or live or sound is not None or _given(devices)
    with ends_when_told(folder), Journal.open(folder, SystemClock().utc()) as journal:
        events = read(folder)
        first = events[0].body if events else None
        if not isinstance(first, ev.VisitOpened):
            raise JournalError("does not begin with the opening of a visit", file=folder, line=1)
        if first.ears.startswith(ev.REHEARSAL):
            raise JournalError(
                "this visit is a rehearsal, and its door is gone",
                file=folder,
                way_out="start over: handsfree rehearse with the same --door and --seed",
            )
        before, last_at = last_ears(events), events[-1].at
        name = chosen if named else before
        language, settings = Language.load(language=first.sheet.language), load_settings()
        procedure = _procedure(first.procedure, first.controller, first.sheet.language)
        limits, by_ear = load_limits(first.sheet.limits), name != TYPED
        parts_of = (procedure, limits, language, folder)
        if missing := unwritten_events(events, *parts_of, times_by_ear=by_ear):
            events += journal.append_all(missing, SystemClock().utc())
        state = state_of(events, *parts_of, times_by_ear=by_ear)
        if state.progress.closed:
            if _summary_is_behind(folder, events):  # killed between closing and summary
                journal.close()
                _finish(folder, _console(), language.wording)
                return
            raise JournalError(
                "this visit is closed",
                file=folder,
                way_out=f"see it with: handsfree summary {folder}",
            )
        start_s = heard_until_s(events) if name == before else 0.0
        console, parts = _console(), live_of(settings, devices)
        with ExitStack() as stack:
            visits: list[Visit] = []
            watch, on_block = watchers(
                console,
                language.wording,
                stack,
                view=view,
                typed=name == TYPED,
                place=lambda: visits[0].place if visits else "",
            )
            ears, _ = open_ears(name, language, parts, stack, start_s=start_s, on_block=on_block)
            mouth = visit_mouth(folder, name, settings, language.wording, parts, ears)
            stack.callback(mouth.close)
            if (ear := second_ear(name, settings, language)) is not None:
                stack.callback(ear.close)
            going_on = Visit(
                journal,
                state,
                language=language,
                ears=ears,
                mouth=mouth,
                clock=SystemClock(),
                watch=watch,
                tones=settings.tones,
                keep_clips=settings.keep_clips,
                voice=last_voice(events, folder) if name == before else 0.0,
                retry=second_hearing(name, language),
                ear=ear,
            )
            visits.append(going_on)
            shell = {"ears": name, "mouth": mouth.name, "second_ear": ear.name if ear else ""}
            resumed = ev.VisitResumed(version=__version__, **shell)
            going_on.reopen(resumed, *clock_set_back(last_at, SystemClock().utc()))
            if going_on.run():
                _take_photos(journal, console)
    _finish(folder, console, language.wording)


def _run(
    folder: Path,
    sheet: Sheet,
    procedure_name: str,
    name: str,
    controller: str = "",
    live: Live = NOT_LIVE,
    *,
    view: bool = False,
    confirm: Confirm | None = None,
) -> None:
    """Runs a whole visit into a new folder, which is made once every input has been read.

    A procedure that nobody named ('') is asked for first; of a recording it has to be named.
    """
    if not procedure_name and name.startswith(SOUND):
        raise JobError("the job names no procedure", way_out=NAME_PROCEDURE)
    with ends_when_told(folder), ExitStack() as stack:
        named = procedure_name
        procedure = _procedure(named, controller, sheet.language) if named else None
        limits, settings = load_limits(sheet.limits), load_settings()
        language = Language.load(language=sheet.language)
        console = _console()
        visits: list[Visit] = []
        watch, on_block = watchers(
            console,
            language.wording,
            stack,
            view=view,
            typed=name == TYPED,
            place=lambda: visits[0].place if visits else "",
        )
        ears, model = open_ears(name, language, live, stack, on_block=on_block)
        if not name.startswith(SOUND):  # the speech of a recorded visit goes into its folder
            mouth = visit_mouth(folder, name, settings, language.wording, live, ears)
            stack.callback(mouth.close)
        if procedure is None:
            shown = Conversation(console, language.wording).line
            asked = asked_procedure(NumberedQuestion(ears, mouth, language, shown), language)
            procedure = _procedure(asked, controller, sheet.language)
        journal = stack.enter_context(Journal.create(folder))
        if name.startswith(SOUND):
            mouth = visit_mouth(folder, name, settings, language.wording, live, ears)
            stack.callback(mouth.close)
        if (ear := second_ear(name, settings, language)) is not None:
            stack.callback(ear.close)
        visit = Visit(
            journal,
            first_state(sheet, procedure, limits, times_by_ear=ears.can_time),
            language=language,
            ears=ears,
            mouth=mouth,
            clock=SystemClock(),
            watch=watch,
            tones=settings.tones,
            keep_clips=settings.keep_clips,
            retry=second_hearing(name, language),
            ear=ear,
        )
        visits.append(visit)
        shell = {"model": model, "ears": name, "mouth": mouth.name, "controller": controller}
        shell["second_ear"] = ear.name if ear is not None else ""
        shell["zone"] = zone_here(SystemClock().utc())
        if name == MICROPHONE:
            with suppress(OSError):  # the visit is heard even where it cannot be shown
                console.print(language.wording.say("privacy", command=KEEP_LESS), style="dim")
        opened = opening_event(sheet, procedure, limits, **shell)
        visit.open(opened, settings.speech_level, confirm or settings.confirm)
        if visit.run():
            _take_photos(journal, console)
    _finish(folder, console, language.wording)


def _take_photos(journal: Journal, console: Console) -> None:
    """Takes the pictures in that were dropped during the visit, and says so, line by line."""
    for line in take_in(journal):
        console.print(line)


def _source(sound: Path | None, typed: bool, devices: dict[str, Any]) -> str:
    """The source to listen to, by the options. Raises UsageError where they contradict."""
    if typed and sound is not None:
        raise click.UsageError("give only one of --typed and --sound FILE")
    if (typed or sound is not None) and _given(devices):
        raise click.UsageError("--typed and --sound FILE need no microphone")
    return ears_name(sound, typed=typed)


def _given(devices: dict[str, Any]) -> bool:
    return any(value is not None for value in devices.values())


def _procedure(name: str, controller: str, language: str) -> Procedure:
    """The procedure, with the controller's guide where there is one."""
    guide = load_guide(controller, language) if controller else None
    return load_procedure(name, guide, language)


def _summary_is_behind(folder: Path, events: tuple[ev.Event, ...]) -> bool:
    """Whether the folder's summary is missing or older than its journal."""
    try:
        there = file_bytes(folder / SUMMARY).decode()
    except (OSError, UnicodeDecodeError):
        return True
    return there != summary_text(summarize(events))


def _finish(folder: Path, console: Console, w: Wording) -> None:
    record = record_of(read(folder))
    summed = summary_of(record)
    keep_summary(folder, summed)
    console.print()
    if w.language == ENGLISH:  # the summary is for the office, and in its language
        console.print(summed.verdict, style="bold")
    console.print(w.say("kept_in", folder=folder))
    said = sum(each.name == "photo" for each in record.visit_facts)
    if (missing := said - len(record.photos)) > 0:
        text = w.say("photos_missing", count=missing, folder=folder / DROPPED, visit=folder)
        console.print(text)
    if not summed.complete:
        console.print(w.say("go_on_with", folder=folder))


def _new_folder(sheet: Sheet) -> Path:
    return VISITS / f"{slug(sheet.reference, 'visit')}-{_now()}"


def _now() -> str:
    return f"{SystemClock().utc():%Y%m%d-%H%M%S}"


def _console() -> Console:
    return new_console(highlight=False, soft_wrap=True)
