"""Material of the hearing bench: natural and robot voices, recordings of people, noise."""

from __future__ import annotations

import csv
import math
import shutil
import subprocess
import tempfile
import zlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from random import Random

import numpy as np
from numpy.typing import NDArray

from handsfree.audio.sound_files import read_sound
from handsfree.errors import SoundError
from handsfree.language.interpreter import Language
from handsfree.sample_rate import SAMPLE_RATE_HZ

Sound = NDArray[np.float64]

VOICES = {
    "held-out": (
        *("flite:slt", "festival:cmu_us_slt_arctic_hts"),  # one speaker, two ways of making speech
        *("espeak:en-us+m3", "espeak:en-gb+f2"),
    ),
    "development": ("festival:ked_diphone",),
    "training": ("flite:rms", "flite:awb", "flite:kal16"),
}
"""Robot voices by role. Held out: never trained on, nothing chosen on them. Development: choices
were made on them. Training: the model was trained on them."""

LEVELS_DB: tuple[float | None, ...] = (None, 20.0, 10.0, 5.0)
"""Level of the voice above the noise (dB); None is quiet."""
ROOM_RMS = 8.0
"""Level of the white noise of a quiet room, added at every level (RMS, of 32768)."""
VOICE_RMS = 2500.0
"""Level of the louder half of an utterance's samples (RMS, of 32768)."""
PAUSE = np.zeros(SAMPLE_RATE_HZ // 2)
"""Silence before and after each utterance."""


@dataclass(frozen=True)
class Sample:
    """One utterance: its sound, text and speaker, and the number of its noise."""

    sound: Sound
    text: str
    voice: str
    draw: int = 0


# --- robot voices


@cache
def why_missing(voice: str) -> str | None:
    """Returns why a voice is not available here, or None if it is."""
    engine, name = voice.split(":")
    program = {"flite": "flite", "festival": "text2wave", "espeak": "espeak-ng"}[engine]
    if shutil.which(program) is None:
        return f"{program} is not installed"
    if engine == "flite":
        listed = subprocess.run(["flite", "-lv"], capture_output=True, text=True, check=True)
        return None if name in listed.stdout.split() else "flite has no such voice"
    try:
        return None if len(spoken(voice, "yes")) else f"{program} has no such voice"
    except (subprocess.CalledProcessError, SoundError):
        return f"{program} has no such voice"


def spoken(voice: str, text: str) -> Sound:
    """Returns the text in a synthetic voice, at 16 kHz."""
    engine, name = voice.split(":")
    with tempfile.TemporaryDirectory() as folder:
        wav = Path(folder) / "line.wav"
        command = {
            "flite": ["flite", "-voice", name, "-t", text, "-o", str(wav)],
            "festival": ["text2wave", "-eval", f"(voice_{name})", "-o", str(wav)],
            "espeak": ["espeak-ng", "-v", name, "-s", "150", "-w", str(wav), text],
        }[engine]
        subprocess.run(command, input=text, text=True, check=True, capture_output=True)
        return read_sound(wav).astype(np.float64)


def sentences(language: Language, count: int) -> list[str]:
    """Draws readings and commands from the grammar, always the same ones."""
    rng = Random(20)
    return [language.sentence(rng) for _ in range(count)]


def refusals(language: Language) -> list[str]:
    """Lists every refusal in the grammar."""
    return every_sentence(language, "words.negative")


def every_sentence(language: Language, rule: str) -> list[str]:
    """Lists every sentence of a rule that has only a few."""
    automaton = language.automaton(rule)
    found: list[str] = []
    open_ends: list[tuple[int, tuple[str, ...]]] = [(automaton.start, ())]
    while open_ends:
        state, words = open_ends.pop()
        if state in automaton.finals:
            found.append(" ".join(words))
        open_ends += [(to, (*words, word)) for at, word, to in automaton.arcs if at == state]
    return sorted(found)


def read_aloud(voice: str, texts: Iterable[str], draws: int = 1) -> list[Sample]:
    """Returns each text once in a voice, to be mixed with ``draws`` different noises."""
    said = [(text, spoken(voice, text)) for text in texts]
    return [Sample(sound, text, voice, draw) for text, sound in said for draw in range(draws)]


# --- natural voices


@dataclass(frozen=True)
class Clips:
    """The clips of one natural voice, by kind (see natural_clips.py)."""

    voice: str
    role: str
    kinds: dict[str, list[Sample]]

    def of(self, *kinds: str) -> list[Sample]:
        """Lists the clips of some kinds."""
        return [sample for kind in kinds for sample in self.kinds.get(kind, ())]


def natural_clips(folder: Path, role: str, language: str) -> list[Clips]:
    """Loads the clips of each voice of a role, or of all roles, in one language."""
    found: dict[str, Clips] = {}
    with (folder / "manifest.csv").open(encoding="utf-8", newline="") as file:
        rows = [row for row in csv.DictReader(file) if row["language"] == language]
    for row in rows:
        if role not in (row["role"], "all"):
            continue
        clips = found.setdefault(row["voice"], Clips(row["voice"], row["role"], {}))
        kind = clips.kinds.setdefault(row["kind"], [])
        sound = read_sound(folder / row["path"]).astype(np.float64)
        kind.append(Sample(sound, row["text"], row["voice"]))
    return list(found.values())


# --- people and noise


def recordings(data: Path, kind: str, count: int | None = None) -> Iterator[Sample]:
    """Draws recordings of real people of one kind evenly from the list, or returns all."""
    with (data / "manifest.csv").open(encoding="utf-8") as file:
        rows = [row for row in csv.DictReader(file) if row["kind"] == kind]
    for row in rows[:: max(1, len(rows) // count)] if count else rows:
        sound = read_sound(data / row["path"]).astype(np.float64)
        yield Sample(sound, row["text"].lower(), row["speaker"])


def noises(data: Path) -> list[Sound]:
    """Loads the real noises in full."""
    return [sample.sound for sample in recordings(data, "noise")]


def in_noise(sample: Sample, level_db: float | None, noise: list[Sound]) -> NDArray[np.int16]:
    """Returns the utterance between two pauses, with a piece of noise below the voice.

    The level is the ratio of the power of the whole utterance, without the pauses, to the power of
    the whole piece of noise. A piece of digital silence is passed over. Raises ValueError for a
    recording of noise that is silent throughout.
    """
    sound = np.concatenate((PAUSE, sample.sound, PAUSE))
    # By what it sounds like: clips of one length must not all meet the same piece of noise.
    rng = np.random.default_rng([zlib.crc32(sample.sound.tobytes()), sample.draw])
    loud = np.sort(np.abs(sample.sound))[len(sample.sound) // 2 :]
    scale = VOICE_RMS / math.sqrt(np.mean(loud**2))
    mixed = sound * scale + rng.normal(0, ROOM_RMS, len(sound))
    if level_db is not None:
        bed = noise[int(rng.integers(len(noise)))]
        if not np.any(bed):
            raise ValueError("a recording of noise is silent")
        piece = np.zeros(0)
        while not np.any(piece):
            start = int(rng.integers(max(1, len(bed) - len(sound))))
            piece = np.resize(bed[start:], len(sound))
        voice_rms = math.sqrt(np.mean((sample.sound * scale) ** 2))
        mixed += piece * (voice_rms * 10 ** (-level_db / 20) / math.sqrt(np.mean(piece**2)))
    return np.clip(np.rint(mixed), -32768, 32767).astype(np.int16)


def level_name(level_db: float | None) -> str:
    """Returns 'quiet' or a level such as '20 dB'."""
    return "quiet" if level_db is None else f"{level_db:.0f} dB"
