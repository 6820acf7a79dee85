"""Advice after a sound check: what is wrong with the sound and how to fix it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from handsfree.audio.echo_detection import Echo
from handsfree.audio.sound_measurements import SoundMeasurement
from handsfree.job.record import Record

AdviceKind = Literal[
    "silent",
    "nobody_heard",
    "too_soft",
    "clipped",
    "hum",
    "noisy",
    "echo",
    "no_echo",
    "no_loudspeaker",
    "unreadable",
    "misheard",
]

SOFT_DB = -45.0
"""Level of the loudest tenth below which a voice is soft (dB relative to full scale). Below it
16-bit resolution and a headset's own noise come close.
"""
NOISY_DB = -40.0
"""Noise floor above which a place is noisy (dB relative to full scale)."""
READABLE = 3
"""Lowest readability at which words are understood; below it they are guessed."""


class Advice(Record):
    """One piece of advice. ``serious`` means that a visit by voice would not work as is."""

    kind: AdviceKind
    text: str
    serious: bool = False


class SpokenPhrase(Record):
    """One phrase of a sound check.

    ``asked`` is None if no particular phrase was requested; ``heard`` is empty without a voice.
    ``understood`` means that the words mean the requested phrase, or anything if none was
    requested. ``snr_db`` and ``readability`` (1 to 5) are those of the answer to 'how do you read'.
    """

    asked: str | None
    heard: str
    understood: bool
    sound: SoundMeasurement | None = None
    snr_db: float | None = None
    readability: int | None = None


def advise(
    quiet: SoundMeasurement | None,
    echo: Echo | None,
    samples: Sequence[SpokenPhrase],
    *,
    headset: bool,
    no_loudspeaker: str | None = None,
) -> tuple[Advice, ...]:
    """Lists what to do, the most serious first.

    ``quiet`` is sound without speech, ``echo`` whether the loudspeaker was heard (None if not
    tried), ``headset`` whether one is declared, ``no_loudspeaker`` why nothing was played.
    """
    voices = [sample.sound for sample in samples if sample.sound is not None]
    found: list[Advice] = []
    if (quiet is not None and quiet.silent) or (voices and all(v.silent for v in voices)):
        found.append(_SILENT)
    else:
        found += _of_voices(samples, voices, quiet)
    if no_loudspeaker is not None:
        text = f"Nothing can be spoken: {no_loudspeaker}. The prompts will be printed."
        found.append(Advice(kind="no_loudspeaker", text=text))
    elif echo is not None and _SILENT not in found:
        found += _of_echo(echo, headset)
    return tuple(sorted(found, key=lambda advice: not advice.serious))


def _of_voices(
    samples: Sequence[SpokenPhrase],
    voices: Sequence[SoundMeasurement],
    quiet: SoundMeasurement | None,
) -> list[Advice]:
    found = []
    if not voices:
        found.append(_NOBODY)
    if any(voice.clipped for voice in voices):
        found.append(_CLIPPED)
    elif voices and max(voice.loud_db for voice in voices) < SOFT_DB:
        found.append(_SOFT)
    if quiet is not None and quiet.hum_hz is not None and quiet.floor_db > -70:
        text = (
            f"There is a {quiet.hum_hz} Hz hum: unplug the charger, use another cable, "
            "keep away from the drive's power supply."
        )
        found.append(Advice(kind="hum", text=text))
    elif quiet is not None and quiet.floor_db > NOISY_DB:
        found.append(_NOISY)
    grades = sorted(s.readability for s in samples if s.readability is not None)
    if grades and grades[len(grades) // 2] < READABLE:
        found.append(_UNREADABLE)
    spoken = [sample for sample in samples if sample.sound is not None]
    missed = [sample for sample in spoken if not sample.understood]
    if missed:
        text = (
            f"{len(missed)} of {len(spoken)} phrases were not understood: say a phrase in one "
            "breath, as 'handsfree phrases' lists it, half a second after the tool has finished."
        )
        found.append(Advice(kind="misheard", text=text, serious=len(missed) * 2 > len(spoken)))
    return found


def _of_echo(echo: Echo, headset: bool) -> list[Advice]:
    if echo.heard and headset:
        return [_ECHO_WITH_HEADSET]
    if echo.heard:
        return [_ECHO]
    return [] if headset else [_NO_ECHO]


_SILENT = Advice(
    kind="silent",
    text="The microphone delivers only silence: it is muted, or the program may not use it. "
    "Check the mute switch, the system's sound settings, and the microphone permission.",
    serious=True,
)
_NOBODY = Advice(
    kind="nobody_heard",
    text="No voice was heard. Is it the right microphone? Name another with --microphone.",
    serious=True,
)
_CLIPPED = Advice(
    kind="clipped",
    text="The voice is clipped: turn the microphone down, or hold it farther away.",
)
_SOFT = Advice(
    kind="too_soft",
    text="The voice is very soft: turn the microphone up, or bring it closer to your mouth.",
)
_NOISY = Advice(
    kind="noisy",
    text="The place is loud: use a headset with its microphone at your mouth, or --push-to-talk.",
)
_UNREADABLE = Advice(
    kind="unreadable",
    text="The noise is too close to the voice: bring the microphone closer, or find a quiet place.",
    serious=True,
)
_ECHO = Advice(
    kind="echo",
    text="The microphone hears the loudspeaker: leave --headset off. The tool then does "
    "not listen while it speaks.",
)
_ECHO_WITH_HEADSET = Advice(
    kind="echo",
    text="The microphone hears the loudspeaker, so this is not a headset: leave --headset "
    "off, or the tool will be interrupted by its own voice.",
    serious=True,
)
_NO_ECHO = Advice(
    kind="no_echo",
    text="The microphone does not hear the loudspeaker. If you did hear it, this is a headset: "
    "with --headset you can interrupt a prompt. If you did not, check the loudspeaker.",
)
