"""Advice after a sound check: what is wrong with the sound and how to fix it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from handsfree.audio.echo_detection import Echo
from handsfree.audio.sound_measurements import SoundMeasurement
from handsfree.job.record import Record
from handsfree.language.wording import Wording

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
_SERIOUS = ("silent", "nobody_heard", "unreadable")
"""Kinds of advice with which a visit by voice would not work."""
_COMMANDS = {
    "microphone": "--microphone",
    "headset": "--headset",
    "push_to_talk": "--push-to-talk",
}
"""The command line option for each place in a sentence."""
READABLE = 3
"""Lowest readability at which words are understood instead of guessed."""


class Advice(Record):
    """One piece of advice. ``serious`` means that a visit by voice would not work."""

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
    w: Wording,
    quiet: SoundMeasurement | None,
    echo: Echo | None,
    samples: Sequence[SpokenPhrase],
    *,
    headset: bool,
    no_loudspeaker: str | None = None,
) -> tuple[Advice, ...]:
    """Lists what to do in the words of a language, the most serious first.

    ``quiet`` is sound without speech, ``echo`` whether the loudspeaker was heard (None if not
    tried), ``headset`` whether one is declared, ``no_loudspeaker`` why nothing was played.
    """
    voices = [sample.sound for sample in samples if sample.sound is not None]
    found: list[Advice] = []
    if (quiet is not None and quiet.silent) or (voices and all(v.silent for v in voices)):
        found.append(_advice(w, "silent"))
    else:
        found += _of_voices(w, samples, voices, quiet)
    if no_loudspeaker is not None:
        found.append(_advice(w, "no_loudspeaker", why=no_loudspeaker))
    elif echo is not None and all(each.kind != "silent" for each in found):
        found += _of_echo(w, echo, headset)
    return tuple(sorted(found, key=lambda advice: not advice.serious))


def _advice(w: Wording, kind: AdviceKind, *, serious: bool = False, **values: str | int) -> Advice:
    serious = serious or kind in _SERIOUS
    text = w.say(f"sound_{kind}", count=None, **_COMMANDS, phrases=w.phrases_command, **values)
    return Advice(kind=kind, text=text, serious=serious)


def _of_voices(
    w: Wording,
    samples: Sequence[SpokenPhrase],
    voices: Sequence[SoundMeasurement],
    quiet: SoundMeasurement | None,
) -> list[Advice]:
    found = []
    if not voices:
        found.append(_advice(w, "nobody_heard"))
    if any(voice.clipped for voice in voices):
        found.append(_advice(w, "clipped"))
    elif voices and max(voice.loud_db for voice in voices) < SOFT_DB:
        found.append(_advice(w, "too_soft"))
    if quiet is not None and quiet.hum_hz is not None and quiet.floor_db > -70:
        found.append(_advice(w, "hum", hz=quiet.hum_hz))
    elif quiet is not None and quiet.floor_db > NOISY_DB:
        found.append(_advice(w, "noisy"))
    grades = sorted(s.readability for s in samples if s.readability is not None)
    if grades and grades[len(grades) // 2] < READABLE:
        found.append(_advice(w, "unreadable"))
    spoken = [sample for sample in samples if sample.sound is not None]
    missed = [sample for sample in spoken if not sample.understood]
    if missed:
        most = len(missed) * 2 > len(spoken)
        found.append(_advice(w, "misheard", serious=most, missed=len(missed), of=len(spoken)))
    return found


def _of_echo(w: Wording, echo: Echo, headset: bool) -> list[Advice]:
    if echo.heard and headset:
        text = w.say("sound_echo_with_headset", headset="--headset")
        return [Advice(kind="echo", text=text, serious=True)]
    if echo.heard:
        return [_advice(w, "echo")]
    return [] if headset else [_advice(w, "no_echo")]
