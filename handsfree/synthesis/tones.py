"""Short tones that stand for a word; docs/tones.md explains each."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

ToneKind = Literal["heard", "understood", "accepted", "warning"]

_LEVEL = 6000.0  # of 32768; its RMS lies between a voice's mean and its loud syllables
_EDGE_S = 0.012  # a shorter edge is heard as a click
_GAP_S = 0.02  # between two notes, so that two of one tone are never taken for a single one


@dataclass(frozen=True)
class _Tune:
    pitches_hz: tuple[int, ...]
    note_s: float


# A small loudspeaker gives little below 400 Hz, and an aging ear hears little above 2 kHz. A note
# lost in noise must not turn one tone into another: a rising part never occurs in a falling tone,
# and the warning is longer and faster than any remaining part of it.
_TUNES: dict[ToneKind, _Tune] = {
    "heard": _Tune((880,), 0.1),
    "understood": _Tune((660, 990), 0.09),
    "accepted": _Tune((1320, 990, 660), 0.08),
    "warning": _Tune((1760, 1175, 1760, 1175), 0.085),
}


def tone(kind: ToneKind, rate: int) -> NDArray[np.int16]:
    """Returns the tone as mono samples at ``rate`` Hz, 0.1 to 0.4 s long.

    Its notes are soft-edged sines between 400 and 2000 Hz, all at the level of a voice. Kinds
    differ in the number of notes and in the direction of the pitch.
    """
    tune = _TUNES[kind]
    gap = np.zeros(round(_GAP_S * rate))
    parts = [_note(tune.pitches_hz[0], tune.note_s, rate)]
    for pitch_hz in tune.pitches_hz[1:]:
        parts += [gap, _note(pitch_hz, tune.note_s, rate)]
    return np.rint(np.concatenate(parts)).astype(np.int16)


def _note(pitch_hz: int, seconds: float, rate: int) -> NDArray[np.float64]:
    time_s = np.arange(round(seconds * rate)) / rate
    from_edge_s = np.minimum(time_s, time_s[::-1])
    edge = np.sin(np.pi / 2 * np.minimum(from_edge_s / _EDGE_S, 1)) ** 2
    return np.asarray(_LEVEL * edge * np.sin(2 * np.pi * pitch_hz * time_s), np.float64)
