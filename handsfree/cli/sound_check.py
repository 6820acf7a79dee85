"""Checks microphone, loudspeaker and voice before a visit, with plain advice.

The command is ``handsfree sound-check``.
"""

from __future__ import annotations

from contextlib import ExitStack
from pathlib import Path
from typing import Any

import click
from rich.console import Console
from rich.markup import escape
from rich.table import Table

from handsfree.audio.capture import FakeCapture, MicrophoneCapture
from handsfree.audio.devices import Device, devices, find, silence_libraries
from handsfree.audio.echo_detection import Echo
from handsfree.audio.playback import LoudspeakerPlayer
from handsfree.audio.sound_files import read_any_sound
from handsfree.audio.sound_measurements import SoundMeasurement
from handsfree.cli.console import new_console
from handsfree.cli.microphone_options import Live, live_of, live_options
from handsfree.cli.terminal import echo
from handsfree.cli.visit_setup import in_its_language, language_option
from handsfree.dialogue.help_queries import readability_of
from handsfree.errors import HandsfreeError
from handsfree.exit_codes import ExitCode
from handsfree.job.record import Record
from handsfree.language.interpreter import Language
from handsfree.language.wording import Wording
from handsfree.recognition.speech_model import SpeechModel
from handsfree.settings import load_settings
from handsfree.synthesis.voice import VoiceWorker
from handsfree.visit.sound_check import SoundCheck
from handsfree.visit.sound_check_advice import Advice, SpokenPhrase, advise

QUIET_S = 2.0
DEVICE_HEADS = ("device", "system", "rate", "in", "out", "used_as")
PHRASE_HEADS = ("asked", "heard", "understood", "loud", "over_noise", "readability")
USED = ("microphone", "loudspeaker")
"""Columns of the tables, and the two uses of a device."""


class Report(Record):
    """Findings of a sound check. ``readability`` (1 to 5) is the median over the phrases."""

    devices: tuple[Device, ...] = ()
    microphone: str | None = None
    microphone_rate: int | None = None
    loudspeaker: str | None = None
    file: str | None = None
    quiet: SoundMeasurement | None = None
    echo: Echo | None = None
    samples: tuple[SpokenPhrase, ...] = ()
    readability: int | None = None
    advice: tuple[Advice, ...] = ()

    @property
    def usable(self) -> bool:
        """True if a visit by voice will work."""
        return not any(advice.serious for advice in self.advice)


@click.command("sound-check")
@click.option("--sound", type=click.Path(path_type=Path), help="Check this recording instead.")
@click.option("--json", "as_json", is_flag=True, help="Print what was found as one JSON object.")
@language_option
@live_options
def sound_check(sound: Path | None, as_json: bool, language: str, **options: Any) -> None:
    """Checks microphone, loudspeaker and voice.

    It listens to the room for two seconds, plays a phrase and checks whether the microphone hears
    it, and asks for three phrases. It says how to fix what is wrong. Nothing is kept. With --sound
    it checks a recording: levels, noise, and what was heard.

    Exit code 1 when a visit by voice would not work.

    \b
    Examples:
      handsfree sound-check
      handsfree sound-check --headset --microphone "USB headset"
      handsfree sound-check --sound trial.wav --json
    """
    from handsfree.recognition.recognizer import VoskRecognizer  # slow to import

    spoken = Language.load(language=language)
    recognizer = VoskRecognizer(SpeechModel.load(language=language), spoken.automaton())
    live = live_of(load_settings(), options)
    told = new_console(stderr=True)

    def understood(asked: str | None, heard: str) -> bool:
        meaning = spoken.parse(heard)
        return meaning is not None and (asked is None or meaning == spoken.parse(asked))

    if sound is not None:
        capture = FakeCapture()
        check = SoundCheck(capture, recognizer, understood, readability_of)
        quiet, samples = check.recorded(read_any_sound(sound))
        report = Report(file=str(sound), quiet=quiet, samples=samples)
        advice = advise(spoken.wording, quiet, None, samples, headset=live.headset)
    else:
        with ExitStack() as stack:
            report, why = _live(live, spoken, recognizer, understood, told, stack)
        w = spoken.wording
        why = None if why is None else in_its_language(w, why)
        advice = advise(
            w, report.quiet, report.echo, report.samples, headset=live.headset, no_loudspeaker=why
        )
    grades = sorted(s.readability for s in report.samples if s.readability is not None)
    middle = grades[len(grades) // 2] if grades else None
    report = report.model_copy(update={"advice": advice, "readability": middle})
    if as_json:
        echo(report.model_dump_json())
    else:
        _print(report, spoken.wording, new_console())
    if not report.usable:
        raise SystemExit(ExitCode.FOUND)


def _live(
    live: Live,
    language: Language,
    recognizer: Any,
    understood: Any,
    told: Console,
    stack: ExitStack,
) -> tuple[Report, str | None]:
    """Checks the devices; also returns why the tool cannot speak, or None. Raises SoundError."""
    w = language.wording
    silence_libraries()
    capture = MicrophoneCapture(live.microphone)
    stack.callback(capture.close)
    check = SoundCheck(capture, recognizer, understood, readability_of)
    voice = VoiceWorker(languages=w.voices)
    stack.callback(voice.close)
    player = LoudspeakerPlayer(live.loudspeaker)
    stack.callback(player.close)
    why: str | None = None
    loudspeaker: str | None = None
    try:
        loudspeaker = find("loudspeaker", live.loudspeaker).name
        player.check()
        voice.start()
    except HandsfreeError as error:
        why = error.message

    def tell(text: str) -> None:
        nonlocal why
        told.print(escape(text))
        if why is None:
            try:
                player.play(voice.speak(text))
            except HandsfreeError as error:
                why = error.message

    tell(w.say("check_quiet"))
    quiet = check.quiet(QUIET_S)
    echo: Echo | None = None
    samples: list[SpokenPhrase] = []
    if not quiet.silent:
        text = w.say("check_loudspeaker")
        told.print(escape(text))
        if why is None:
            try:
                echo = check.echo(voice.speak(text), player)
            except HandsfreeError as error:
                why = error.message
        for phrase in (
            w.say("check_phrase_word"),
            w.say("check_phrase_reading"),
            w.say("check_phrase_question"),
        ):
            tell(w.say("check_say", phrase=phrase))
            samples.append(check.sample(phrase))
            told.print(escape(f"  {samples[-1].heard or w.say('sound_nothing')}"), style="bold")
    report = Report(
        devices=devices(),
        microphone=capture.device,
        microphone_rate=capture.rate,
        loudspeaker=loudspeaker,
        quiet=quiet,
        echo=echo,
        samples=tuple(samples),
    )
    return report, why


def _print(report: Report, w: Wording, console: Console) -> None:
    if report.devices:
        table = Table(*(w.say(f"sound_head_{head}") for head in DEVICE_HEADS))
        for device in report.devices:
            used = [
                w.say(f"sound_used_{kind}")
                for kind, name in zip(USED, (report.microphone, report.loudspeaker), strict=True)
                if name == device.name and getattr(device, kind)
            ]
            table.add_row(
                escape(device.name), device.host, f"{device.rate} Hz", str(device.microphone),
                str(device.loudspeaker), w.listed(used, "and"),
            )  # fmt: skip
        console.print(table)
    if report.quiet is not None:
        console.print(_level(w, report.quiet))
    if report.echo is not None:
        console.print(_echo(w, report.echo))
    if report.samples:
        table = Table(*(w.say(f"sound_head_{head}") for head in PHRASE_HEADS))
        for sample in report.samples:
            grade = sample.readability
            table.add_row(
                sample.asked or "",
                escape(sample.heard or w.say("sound_nothing")),
                w.name("word", "yes" if sample.understood else "no"),
                "" if sample.sound is None else f"{sample.sound.loud_db:.0f} dB",
                "" if sample.snr_db is None else f"{sample.snr_db:.0f} dB",
                "" if grade is None else w.say("sound_grade", grade=grade, most=5),
            )
        console.print(table)
    if report.readability is not None:
        console.print(w.say("sound_readability", grade=report.readability, most=5))
    for advice in report.advice:
        console.print(escape(advice.text), style="bold red" if advice.serious else "")
    if not report.advice:
        console.print(w.say("sound_all_works"))


def _level(w: Wording, quiet: SoundMeasurement) -> str:
    if quiet.silent:
        return w.say("sound_level_zeros")
    floor = f"{-quiet.floor_db:.0f}"
    if quiet.hum_hz:
        return w.say("sound_level_hum", floor=floor, hz=quiet.hum_hz)
    return w.say("sound_level", floor=floor)


def _echo(w: Wording, echo: Echo) -> str:
    if not echo.heard or echo.delay_s is None or echo.level_db is None:
        return w.say("sound_echo_none")
    level = f"{-echo.level_db:.0f}"
    return w.say("sound_echo_after", delay=f"{echo.delay_s:.2f}", level=level)
