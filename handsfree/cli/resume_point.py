"""Finds where a visit stopped: sound source, position in a recording, level of the voice."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path

from handsfree.errors import SoundError
from handsfree.journal import events as ev
from handsfree.journal.reader import CLIPS


def last_ears(events: tuple[ev.Event, ...]) -> str:
    """The name of the sound source ('ears') that the visit used last."""
    shells = (e.body for e in events if isinstance(e.body, ev.VisitOpened | ev.VisitResumed))
    return [shell.ears for shell in shells][-1]


def heard_until_s(events: tuple[ev.Event, ...]) -> float:
    """Position in the recording (s); utterances from an earlier sound source do not count."""
    until_s = 0.0
    for event in events:
        if isinstance(event.body, ev.VisitOpened):
            until_s = 0.0
        elif isinstance(event.body, ev.Heard | ev.CycleTimed) and event.body.end_s is not None:
            until_s = float(event.body.end_s)
    return until_s


def last_voice(events: tuple[ev.Event, ...], folder: Path) -> float:
    """Level (RMS) of the last utterance whose sound was kept; 0 if there is none."""
    for event in reversed(events):
        if isinstance(event.body, ev.Heard) and event.body.clip is not None:
            from handsfree.audio.levels import voice_rms
            from handsfree.audio.sound_files import read_sound

            with suppress(SoundError):
                return voice_rms(read_sound(folder / CLIPS / Path(event.body.clip).name))
    return 0.0
