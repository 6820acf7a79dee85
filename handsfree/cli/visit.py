"""Runs a visit from a job file, or plays a recorded one: ``handsfree visit`` and ``demo``."""

from __future__ import annotations

from contextlib import ExitStack, suppress
from functools import partial
from pathlib import Path
from typing import Any, get_args

import click

from handsfree.checks.limits import load_limits, shipped_limits
from handsfree.cli.job_choice import choose_job
from handsfree.cli.job_interview import spoken_question
from handsfree.cli.job_names import slug
from handsfree.cli.live_view import view_option
from handsfree.cli.microphone_options import MICROPHONE, Live, live_of, live_options
from handsfree.cli.procedure_choice import NAME_PROCEDURE, asked_procedure
from handsfree.cli.shutdown import ending_on_signal
from handsfree.cli.terminal import echo
from handsfree.cli.transcript import Conversation
from handsfree.cli.visit_devices import VisitDevices
from handsfree.cli.visit_ending import finish, take_photos
from handsfree.cli.visit_setup import SOUND, ears_name, source_name
from handsfree.clock import SystemClock, zone_here
from handsfree.data import data_folder
from handsfree.errors import JobError
from handsfree.job.closed_lists import Confirm
from handsfree.job.job import Sheet
from handsfree.job_file.loader import load_sheet, with_whole_paths
from handsfree.journal.writer import Journal
from handsfree.language.interpreter import Language
from handsfree.language.wording import wording
from handsfree.settings import load_settings
from handsfree.visit.last_visit import visit_reader
from handsfree.visit.procedure_of_visit import chosen_procedure
from handsfree.visit.resume import first_state, opening_event
from handsfree.visit.spoken_question import SpokenQuestion

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

    Without --job it reads the job files here and in jobs/ aloud by number, those of today and
    before; say the number. 'handsfree new' writes one. With a microphone you can type lines at any
    time, too. Try sound-check first.

    \b
    Examples:
      handsfree visit
      handsfree visit --job harbour-hall.job.toml
      handsfree visit --job harbour-hall.job.toml --headset --microphone "USB headset"
      handsfree visit --job harbour-hall.job.toml --typed
      handsfree visit --job lobby.job.toml --typed --controller my-guide.toml
      handsfree visit --job harbour-hall.job.toml --sound visit.flac --out my-visit
    """
    name = source_name(sound, typed, devices)
    today = SystemClock().utc().astimezone().date()
    settings = load_settings()
    live = live_of(settings, devices)
    if job is None:
        aloud = partial(spoken_question, settings=settings, live=live)
        job = choose_job(today, aloud if name == MICROPHONE else None)
    sheet = load_sheet(job, shipped_limits(), visit_reader(today))
    if language is not None:
        sheet = sheet.model_copy(update={"language": wording(language).language})
    guide = controller or sheet.controller_guide or settings.controller_guide or ""
    chosen = {"procedure": procedure or sheet.procedure, "controller_guide": guide}
    sheet = with_whole_paths(sheet.model_copy(update=chosen), Path(), shipped_limits())
    out = out or _new_folder(sheet)
    _run(out, sheet, name, live, view=view, confirm=confirm)


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
    # In the recording every value is confirmed with 'affirm'.
    sheet = sheet.model_copy(update={"procedure": PROCEDURE})
    _run(out, sheet, ears_name(fixtures / "harbour-hall.flac"), confirm="every")
    echo(
        f"\nNext:\n"
        f"  handsfree report {out} --open    the visit as a page, with the sound of each reading\n"
        f"  handsfree record {out}    the owner's record as PDF\n"
        f"  handsfree office {out} --open    listen, correct and sign off in the browser\n"
        f"  handsfree sound-check    before your own visit: handsfree visit --help"
    )


def _run(
    folder: Path,
    sheet: Sheet,
    name: str,
    live: Live = NOT_LIVE,
    *,
    view: bool = False,
    confirm: Confirm | None = None,
) -> None:
    """Runs a visit into a new folder, which is created once every input has been read.

    The sheet names the procedure and the guide. Without a procedure it asks for one first; with a
    recording the sheet has to name it.
    """
    named, controller = sheet.procedure, sheet.controller_guide
    if not named and name.startswith(SOUND):
        raise JobError("the job names no procedure", way_out=NAME_PROCEDURE)
    with ending_on_signal(folder), ExitStack() as stack:
        procedure = chosen_procedure(named, controller, sheet.language) if named else None
        limits, settings = load_limits(sheet.limits), load_settings()
        language = Language.load(language=sheet.language)
        devices = VisitDevices(name, language, settings, live, stack, view=view)
        console = devices.console
        if not name.startswith(SOUND):  # the speech of a recorded visit goes into its folder
            mouth = devices.open_mouth(folder)
        if procedure is None:
            shown = Conversation(console, language.wording).line
            asked = asked_procedure(SpokenQuestion(devices.ears, mouth, language, shown), language)
            procedure = chosen_procedure(asked, controller, sheet.language)
        journal = stack.enter_context(Journal.create(folder))
        if name.startswith(SOUND):
            mouth = devices.open_mouth(folder)
        state = first_state(sheet, procedure, limits, times_by_ear=devices.ears.can_time)
        visit, named_devices = devices.visit(journal, state, mouth)
        if name == MICROPHONE:
            with suppress(OSError):  # a visit by voice runs even if it cannot be shown
                console.print(language.wording.say("privacy", command=KEEP_LESS), style="dim")
        opened = opening_event(
            sheet,
            procedure,
            limits,
            model=devices.model,
            controller=controller,
            zone=zone_here(SystemClock().utc()),
            **named_devices,
        )
        visit.open(opened, settings.speech_level, confirm or settings.confirm)
        if visit.run():
            take_photos(journal, console)
    finish(folder, console, language.wording)


def _new_folder(sheet: Sheet) -> Path:
    return VISITS / f"{slug(sheet.reference, 'visit')}-{_now()}"


def _now() -> str:
    return f"{SystemClock().utc():%Y%m%d-%H%M%S}"
