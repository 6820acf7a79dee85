"""Rehearses a visit at an imaginary door, shown or done by yourself: ``handsfree rehearse``."""

from __future__ import annotations

import time
from contextlib import ExitStack
from pathlib import Path
from random import Random

import click
from rich.console import Console

from handsfree.checks.number_format import counted
from handsfree.cli.console import new_console
from handsfree.cli.microphone_options import MICROPHONE
from handsfree.cli.rehearse_yourself import table, yourself
from handsfree.cli.terminal import echo_json
from handsfree.cli.transcript import Conversation
from handsfree.cli.visit_setup import TYPED, second_ear, second_pass
from handsfree.clock import SystemClock
from handsfree.controllers.guide_loader import load_guide
from handsfree.journal.reader import read
from handsfree.language.interpreter import Language
from handsfree.recognition.port import Ears
from handsfree.rehearsal.door_file import load_door, shipped_doors
from handsfree.rehearsal.door_spec import DoorSpec
from handsfree.rehearsal.faults import KINDS, NEEDS, add_fault, make_fault, possible
from handsfree.rehearsal.outcome import ControllerLeft, Outcome, outcome_of
from handsfree.rehearsal.rehearsal import BY_TEXT, EarsOf, Rehearsal
from handsfree.rehearsal.room_acoustics import Room
from handsfree.rehearsal.simulated_ears import SimulatedClock
from handsfree.rehearsal.simulated_technician import Technician
from handsfree.rehearsal.technician_profile import CAREFUL, HUMAN
from handsfree.settings import load_settings

USUAL_DOOR = "corridor-pair"
FOLDER = Path("visits")
STRANGER = ("flite:awb", "espeak:en-us")
_FRAME_S = 0.1
_SURPRISE = "any"


@click.command()
@click.option("--door", default=USUAL_DOOR, show_default=True, help="A door's name or TOML file.")
@click.option("--fault", "faults", multiple=True, help="A fault to hide; 'any' draws one.")
@click.option("--you", is_flag=True, help="You are the technician, at the simulated door.")
@click.option("--typed", is_flag=True, help="The technician types; no sound is used.")
@click.option(
    "--seed", type=int, default=1, show_default=True, help="Seed of everything that is random."
)
@click.option("--procedure", help="A procedure's name or file; by default one for the door.")
@click.option("--controller", help="The guide of a simulated controller: its name or file.")
@click.option("--motion", is_flag=True, help="A phone on the leaf measures, not a stopwatch.")
@click.option("--careful", is_flag=True, help="A technician who never slips, chats or forgets.")
@click.option("--voice", help="flite:slt, espeak:en-gb, natural:NAME ...")
@click.option("--snr", type=float, help="Voice over the noise of a ventilated room, in dB.")
@click.option("--echo", type=float, default=0.0, help="Reverberation time of the room, in s.")
@click.option("--off-axis", type=float, default=0.0, help="Loss of the voice at 8 kHz, in dB.")
@click.option("--list", "listing", is_flag=True, help="List the doors and the faults.")
@click.option("--json", "as_json", is_flag=True, help="With --list: print one JSON object.")
@click.option("--out", type=click.Path(path_type=Path), help="The visit's folder.")
def rehearse(
    door: str,
    faults: tuple[str, ...],
    you: bool,
    typed: bool,
    seed: int,
    procedure: str | None,
    controller: str | None,
    motion: bool,
    careful: bool,
    voice: str | None,
    snr: float | None,
    echo: float,
    off_axis: float,
    listing: bool,
    as_json: bool,
    out: Path | None,
) -> None:
    """Walks through a whole visit at a simulated door.

    A simulated technician does it, by sound and as fast as it can. With --you the technician is
    you: answer the tool, and work on the door with lines that begin with a period ('.press',
    '.help'). At the end you see which faults were found.

    \b
    Examples:
      handsfree rehearse
      handsfree rehearse --fault "latch too quick" --snr 15
      handsfree rehearse --voice natural:am_fenrir --snr 15 --echo 0.5 --off-axis 10
      handsfree rehearse --typed --controller heron
      handsfree rehearse --typed --motion
      handsfree rehearse --you --door clinic-single --fault any
    """
    console = new_console(highlight=False, soft_wrap=True)
    if listing:
        _list(console, as_json=as_json)
        return
    if motion and you:
        raise click.UsageError("--motion is for the simulated technician, not for --you")
    if as_json:
        raise click.UsageError("--json goes with --list")
    if snr is not None and not -10 <= snr <= 60:
        raise click.UsageError("--snr is in dB, from -10 to 60")
    if not 0 <= echo <= 3:
        raise click.UsageError("--echo is in seconds, from 0 to 3")
    if not 0 <= off_axis <= 30:
        raise click.UsageError("--off-axis is in dB, from 0 to 30")
    spec = _with_faults(load_door(door), faults, Random(f"faults {seed}"))
    named = controller or spec.sheet.controller_guide
    guide = load_guide(named, spec.sheet.language) if named else None
    folder = out or FOLDER / f"rehearsal-{SystemClock().utc():%Y%m%d-%H%M%S}"
    if you:
        yourself(console, spec, seed, procedure, guide, folder, TYPED if typed else MICROPHONE)
        return
    wanted = None if typed else voice or _usual_voice()
    if not typed and wanted is None:
        console.print("No voice is installed here, so the technician types.", style="yellow")
    room = Room(snr_db=snr, echo_s=echo, off_axis_db=off_axis, seed=seed)
    language = Language.load()
    heard_by = TYPED if wanted is None else wanted
    ear = second_ear(heard_by, load_settings(), language)
    rehearsal = Rehearsal(
        spec,
        seed=seed,
        procedure=procedure,
        guide=guide,
        manner=CAREFUL if careful else HUMAN,
        language=language,
        ears_of=None if wanted is None else _by_air(wanted, room, language),
        retry=second_pass(heard_by, language),
        ear=ear,
        motion=motion,
        ears_name=BY_TEXT if wanted is None else f"rehearsal, {wanted}",
    )
    begun = time.monotonic()
    with ExitStack() as stack:
        if ear is not None:
            stack.callback(ear.close)
        progress = rehearsal.run(folder, Conversation(console, rehearsal.language.wording))
    ending = outcome_of(rehearsal, progress, read(folder))
    _tell(console, ending, time.monotonic() - begun, folder)


def _usual_voice() -> str | None:
    # Imported here: the voices are slow to import.
    from handsfree.rehearsal.synthetic_voices import default_voice

    return default_voice()


def _by_air(voice: str, room: Room, language: Language) -> EarsOf:
    """Sets up the tool's real recognizer to hear the simulated technician's voice."""
    from handsfree.recognition.cycle_listener import mark_recognizer
    from handsfree.recognition.recognizer import VoskRecognizer
    from handsfree.recognition.speech_model import SpeechModel
    from handsfree.rehearsal.acoustic_ears import AcousticEars
    from handsfree.rehearsal.synthetic_voices import SyntheticVoices, why_missing

    model = SpeechModel.load()
    recognizer = VoskRecognizer(model, language.automaton(), language.parse)
    clock_ears = (mark_recognizer(model, language.automaton("mark"), language.mark), language.mark)
    stranger = next((name for name in STRANGER if why_missing(name) is None), voice)

    def ears_of(technician: Technician, clock: SimulatedClock) -> Ears:
        voices = SyntheticVoices()
        return AcousticEars(
            technician, clock, recognizer, clock_ears, room, voices, voice, stranger
        )

    return ears_of


def _with_faults(spec: DoorSpec, names: tuple[str, ...], random: Random) -> DoorSpec:
    for name in names:
        drawn_name = random.choice(possible(spec)) if name == _SURPRISE else name
        spec = add_fault(spec, make_fault(spec, drawn_name, random))
    return spec


def _list(console: Console, *, as_json: bool) -> None:
    if as_json:
        doors = [
            {"name": name, "title": spec.title, "leaves": len(spec.leaves)}
            for name, spec in ((name, load_door(name)) for name in shipped_doors())
        ]
        faults = [
            {"name": kind.name, "says": kind.says, "needs": NEEDS[kind.of]}
            for kind in KINDS.values()
        ]
        echo_json({"doors": doors, "faults": faults})
        return
    console.print("Doors:", style="bold")
    for name in shipped_doors():
        spec = load_door(name)
        console.print(
            f"  {name}: {spec.title}; {'one leaf' if len(spec.leaves) == 1 else 'two leaves'}"
        )
    console.print("Faults:", style="bold")
    for kind in KINDS.values():
        console.print(f"  {kind.name}: {kind.says} (needs {NEEDS[kind.of]})")


# --- the end of a rehearsal


def _tell(console: Console, ending: Outcome, wall_s: float, folder: Path) -> None:
    said = counted(ending.said_to_tool, "time")
    rows = [
        ("visit", "complete" if ending.closed else "not complete"),
        ("faults found", ", ".join(ending.faults_found) or "none"),
        ("faults missed", ", ".join(ending.faults_missed) or "none"),
        *([("controller", _controller(ending.controller))] if ending.controller else []),
        ("readings", f"{ending.readings}, {len(ending.wrong)} of them misheard"),
        *([("logs of the phone", _logs(ending))] if ending.logs else []),
        ("said to the tool", f"{said}, {ending.repairs} of them repeated"),
        ("technician's slips", str(ending.slips)),
        ("verdicts", _verdicts(ending)),
        ("time", f"{ending.minutes:.0f} minutes, shown in {wall_s:.0f} s"),
    ]
    table(console, rows, folder)
    for subject in ending.over_peak:
        console.print(
            f"The peak energy of the {subject} was above the limit when its time was taken; "
            "a time alone cannot show that.",
            style="yellow",
        )


def _controller(left: ControllerLeft) -> str:
    entries = (
        f"{len(left.wrong)} entries differ from its guide" if left.wrong else "as its guide says"
    )
    made = f", mistakes made: {', '.join(left.made)}" if left.made else ""
    return f"{left.guide}, {entries}, {'learned' if left.learned else 'not learned'}{made}"


def _logs(ending: Outcome) -> str:
    return f"{ending.logs}, {ending.logs_refused} of them refused"


def _verdicts(ending: Outcome) -> str:
    parts = (
        f"{ending.held('right')} right",
        f"{ending.held('wrong')} wrong",
        f"{ending.held('undecided')} left open",
        f"{ending.held('in the band')} too close to their limit to tell",
    )
    return ", ".join(parts)
