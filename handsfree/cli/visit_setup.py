"""Opens the ears, the mouth and the second ear that a command asks for."""

from __future__ import annotations

import sys
from collections.abc import Callable
from contextlib import ExitStack
from pathlib import Path
from typing import Any

import click
import numpy as np
from numpy.typing import NDArray

from handsfree.cli.microphone_options import MICROPHONE, Live, open_microphone
from handsfree.cli.terminal import echo
from handsfree.errors import SecondEarError, SoundError
from handsfree.language.interpreter import Language
from handsfree.language.wording import ENGLISH, Wording
from handsfree.recognition.ears import RecordedEars, TypedEars
from handsfree.recognition.port import Ears
from handsfree.recognition.speech_model import SpeechModel, shipped_languages
from handsfree.second_ear.port import SecondEar
from handsfree.settings import Settings
from handsfree.synthesis.mouth import open_mouth
from handsfree.synthesis.port import Mouth, PlaybackListener
from handsfree.visit.understanding import RetryRecognizer

language_option = click.option(
    "--language",
    type=click.Choice(shipped_languages()),
    default=ENGLISH,
    show_default=True,
    help="The spoken language.",
)
TYPED = "typed"
SOUND = "sound "
SPOKEN_SIDE = "spoken.wav"


def open_ears(
    name: str,
    language: Language,
    live: Live,
    stack: ExitStack,
    *,
    start_s: float = 0.0,
    on_block: Callable[[NDArray[np.int16]], None] = lambda samples: None,
) -> tuple[Ears, str]:
    """Opens the ears that a journal names ('typed', 'sound FILE', 'microphone').

    Returns them with the name of their model. A recording starts at ``start_s``; ``on_block`` gets
    every block of a microphone. Raises ModelError or SoundError.
    """
    if name == TYPED:
        if sys.stdin is None or sys.stdin.closed:
            raise SoundError(
                "lines cannot be typed: the input is closed",
                way_out="pipe lines in, or listen with --sound FILE or a microphone",
            )
        return TypedEars(sys.stdin), "none"
    # Slow to import, and a typed visit does not need it.
    from handsfree.recognition.cycle_listener import mark_recognizer
    from handsfree.recognition.recognizer import VoskRecognizer

    model = SpeechModel.load(language=language.wording.language)
    model.require_words(language.words("utterance"))
    # Deriving the whole grammar takes half a second; a static model has it compiled in.
    said = language.automaton() if model.kind == "dynamic" else None
    recognizer = VoskRecognizer(model, said, language.parse)
    clock = (mark_recognizer(model, language.automaton("mark"), language.mark), language.mark)
    ears: Ears
    if name == MICROPHONE:
        ears = open_microphone(live, recognizer, clock, stack, on_block)
    else:
        path = Path(name.removeprefix(SOUND))
        ears = RecordedEars(path, recognizer, clock, start_s=start_s)
    return ears, f"{model.name} {model.sha256[:12]}"


def second_pass(name: str, language: Language) -> RetryRecognizer | None:
    """The constrained second recognition of answers and readings; None without sound."""
    if name == TYPED:
        return None
    from handsfree.recognition.constrained_retry import ConstrainedRetry  # slow to import, as above

    return ConstrainedRetry(language)


def second_ear(name: str, settings: Settings, language: Language) -> SecondEar | None:
    """The second ear for a visit with sound; if there is none, one line says why."""
    if name == TYPED:
        return None
    from handsfree.second_ear.availability import open_second_ear

    w = language.wording
    try:
        return open_second_ear(settings.second_ear, language.wording.language)
    except SecondEarError as error:
        echo(w.say("without_second_ear", why=in_its_language(w, str(error))), err=True)
        return None


def in_its_language(w: Wording, why: str) -> str:
    """An error's reason, which is in English; in another language, where to find it."""
    return (
        why
        if w.language == ENGLISH
        else w.say("why_in_english", command=f"handsfree sound-check --language {w.language}")
    )


def ears_name(sound: Path | None, *, typed: bool = False) -> str:
    """The name of the ears for the journal: the recording's full path, or the live source."""
    if sound is not None:
        return f"{SOUND}{sound.resolve()}"
    return TYPED if typed else MICROPHONE


def visit_mouth(
    folder: Path, ears_named: str, settings: Settings, w: Wording, live: Live, ears: Ears
) -> Mouth:
    """The mouth of a visit; with a recording it writes speech into a file in the visit's folder."""
    recorded = ears_named.startswith(SOUND)
    mouth = open_mouth(
        folder / SPOKEN_SIDE if recorded else None,
        voice_rate=settings.speech_rate,
        volume=settings.speech_volume,
        languages=w.voices,
        loudspeaker=live.loudspeaker,
        listener=ears if isinstance(ears, PlaybackListener) else None,
        patient=ears_named == MICROPHONE,
    )
    if mouth.why_silent is not None:
        echo(w.say("printed_only", why=in_its_language(w, mouth.why_silent)), err=True)
    return mouth


def source_name(sound: Path | None, typed: bool, devices: dict[str, Any]) -> str:
    """The sound source chosen by the options. Raises UsageError if they conflict."""
    if typed and sound is not None:
        raise click.UsageError("give only one of --typed and --sound FILE")
    if (typed or sound is not None) and devices_named(devices):
        raise click.UsageError("--typed and --sound FILE need no microphone")
    return ears_name(sound, typed=typed)


def devices_named(devices: dict[str, Any]) -> bool:
    """True if an option names a device or how to use it."""
    return any(value is not None for value in devices.values())
