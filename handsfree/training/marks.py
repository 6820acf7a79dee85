"""Collects sounds with known starts, for training the net that finds the beginning of a mark.

    python -m handsfree.training.marks RECORDINGS OUT

RECORDINGS holds manifest.csv and the sound it lists; OUT.npz gets single words and beginnings of
sentences cut at their starts, noises, and other people's speech, and can be copied to a machine
with a GPU. A tenth of the speakers and some of the noises are held out for choosing nets.
"""

from __future__ import annotations

import argparse
import csv
import math
import shutil
import subprocess
import tempfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.signal import butter, sosfilt

from handsfree.audio.sound_files import read_sound
from handsfree.sample_rate import SAMPLE_RATE_HZ
from handsfree.timing.cycle import WORDS

Sound = NDArray[np.float64]

BLOCK = 80
"""Samples per block: 5 ms."""
CLEAN_DB = 10.0
"""Distance of a usable recording's noise below the level that marks the start (dB)."""
BRIDGED = 20
"""Longest silence within a word (blocks), before a t for instance: 0.1 s."""
BEFORE = 160
"""Length of the fade-in before the start of a cut word (samples)."""
STARTS_BELOW_DB = (30.0, 20.0)
VOICES = ("flite:rms", "flite:awb", "flite:kal16", "festival:ked_diphone")
"""Voices that the speech model was also trained or tuned on; the bench uses others."""
LONGEST_SOUND_S = 0.7
BEGINNINGS = 2600
"""Number of sentences whose first syllables are used, because single words begin with few of a
language's sounds.
"""
BEGINNING_S = (0.15, 0.5)
LONGEST_NOISE_S, LONGEST_CHATTER_S = 20.0, 2.0
APART_SHARE = 0.1
APART_NOISES = (
    *("doing_the_dishes", "train.", "fireplace", "boat", "room_tone_3", "esc10-1-62850-A"),
)

_RUMBLE = butter(4, 100, "high", fs=SAMPLE_RATE_HZ, output="sos")


@dataclass(frozen=True)
class KnownMark:
    """A sound, the sample at which it starts, and its reference RMS."""

    sound: Sound
    start: int
    rms: float


def word_mark(recording: Sound, below_peak_db: float) -> KnownMark | None:
    """A word cut out of its recording; None if the recording is not clean enough.

    The word starts where its power (over 1 ms, above 100 Hz) first comes within ``below_peak_db``
    of its loudest 5 ms, bridging silences up to 0.1 s before it.
    """
    sound = sosfilt(_RUMBLE, recording)
    blocks = len(sound) // BLOCK
    power = (sound[: blocks * BLOCK].reshape(blocks, BLOCK) ** 2).mean(axis=1) + 1e-6
    least = power.max() * 10 ** (-below_peak_db / 10)
    if 10 * math.log10(least / np.quantile(power, 0.1)) < CLEAN_DB:
        return None
    loud = np.flatnonzero(power > least)
    peak = int(np.argmax(power))
    first = last = peak
    for block in loud[loud < peak][::-1]:
        first = int(block) if first - block <= BRIDGED else first
    for block in loud[loud > peak]:
        last = int(block) if block - last <= BRIDGED else last
    if first < 6:
        return None  # the recording starts within the word
    low = (first - 1) * BLOCK
    fine = (sound[low : low + 2 * BLOCK].reshape(-1, 16) ** 2).mean(axis=1)
    start = low + 16 * int(np.argmax(fine > least))
    end = min(len(sound), (last + 1) * BLOCK + 400)
    cut = sound[start - BEFORE : end].copy()
    cut[:BEFORE] *= np.linspace(0, 1, BEFORE) ** 2
    cut[-400:] *= np.linspace(1, 0, 400)
    return KnownMark(cut, BEFORE, float(np.sqrt(np.mean(cut[BEFORE:] ** 2))))


def kept_apart(name: str) -> bool:
    """True if a speaker, a noise or other speech is held out from the training, for choosing nets.

    The few noises are selected by hand, some of each kind; the others by a hash of the name.
    """
    if Path(name).parts[0] == "noise":
        return any(part in name for part in APART_NOISES)
    return zlib.crc32(name.encode()) % 1000 < 1000 * APART_SHARE


def main() -> None:
    """Writes the file."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n\n")[0])
    parser.add_argument("recordings", type=Path)
    parser.add_argument("out", type=Path)
    options = parser.parse_args()
    with (options.recordings / "manifest.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    packed: dict[str, Any] = {}
    for name, sounds in (
        ("words", _words(options.recordings, rows)),
        ("noises", _whole(options.recordings, rows, "noise", LONGEST_NOISE_S)),
        ("chatter", _whole(options.recordings, rows[::2], "other_speech", LONGEST_CHATTER_S)),
    ):
        packed |= _pack(name, list(sounds))
    np.savez_compressed(options.out, **packed)


def _words(data: Path, rows: list[dict[str, str]]) -> Iterator[tuple[Sound, bool]]:
    for row in rows:
        if row["kind"] in ("words", "other_words"):
            yield from _cuts(_read(data / row["path"]), apart=kept_apart(row["speaker"]))
    sentences = [row for row in rows if row["kind"] in ("sentences", "an4")]
    for nth, row in enumerate(sentences[:: max(1, len(sentences) // BEGINNINGS)]):
        begun = _beginning(_read(data / row["path"]))
        below_db = STARTS_BELOW_DB[nth % 2]
        yield from _cuts(begun, apart=kept_apart(row["speaker"]), starts_below_db=(below_db,))
    for voice in VOICES:
        for word in WORDS:
            padded = np.concatenate((np.zeros(1600), _spoken(voice, word), np.zeros(1600)))
            yield from _cuts(padded, apart=False)


def _beginning(sentence: Sound) -> Sound:
    """The silence before a sentence, and as many first syllables as a word may have."""
    blocks = len(sentence) // BLOCK
    power = (sentence[: blocks * BLOCK].reshape(blocks, BLOCK) ** 2).mean(axis=1)
    loud = BLOCK * int(np.argmax(power > 0.03 * power.max()))
    low, high = BEGINNING_S
    # The length depends on the sound alone, so that the same file is made again.
    share = zlib.crc32(sentence.tobytes()) % 1000 / 1000
    end = loud + round((low + (high - low) * share) * SAMPLE_RATE_HZ)
    return sentence[max(0, loud - SAMPLE_RATE_HZ // 2) : end]


def _cuts(
    recording: Sound, *, apart: bool, starts_below_db: tuple[float, ...] = STARTS_BELOW_DB
) -> Iterator[tuple[Sound, bool]]:
    for below_db in starts_below_db:
        mark = word_mark(recording, below_db)
        if mark is not None and mark.rms > 0:
            sound = mark.sound[: round(LONGEST_SOUND_S * SAMPLE_RATE_HZ)].copy()
            sound[-400:] *= np.linspace(1, 0, 400)
            yield sound * (2500 / mark.rms), apart


def _whole(
    data: Path, rows: list[dict[str, str]], kind: str, longest_s: float
) -> Iterator[tuple[Sound, bool]]:
    for row in rows:
        if row["kind"] == kind:
            sound = _read(data / row["path"])[: round(longest_s * SAMPLE_RATE_HZ)]
            rms = math.sqrt(np.mean(sound**2))
            if rms > 0:
                yield sound * (2500 / rms), kept_apart(row["path"])


def _pack(name: str, sounds: list[tuple[Sound, bool]]) -> dict[str, Any]:
    """Sounds of RMS 2500 joined end to end, their starts and ends, and which are held out."""
    ends = np.cumsum([0] + [len(sound) for sound, _ in sounds])
    return {
        name: np.concatenate([_in_eight_bits(sound) for sound, _ in sounds]),
        f"{name}_ends": ends,
        f"{name}_apart": np.array([apart for _, apart in sounds]),
    }


def _in_eight_bits(sound: Sound) -> NDArray[np.int8]:
    """Companded like telephone sound (mu = 255), which halves the size."""
    share = np.clip(sound / 32768, -1, 1)
    return np.rint(127 * np.sign(share) * np.log1p(255 * np.abs(share)) / np.log(256)).astype(
        np.int8
    )


def _read(path: Path) -> Sound:
    return read_sound(path).astype(np.float64)


def _spoken(voice: str, text: str) -> Sound:
    engine, name = voice.split(":")
    with tempfile.TemporaryDirectory() as folder:
        wav = Path(folder) / "word.wav"
        command = {
            "flite": ["flite", "-voice", name, "-t", text, "-o", str(wav)],
            "festival": ["text2wave", "-eval", f"(voice_{name})", "-o", str(wav)],
        }[engine]
        if shutil.which(command[0]) is None:
            raise SystemExit(f"{command[0]} is not installed")
        subprocess.run(command, input=text, text=True, check=True, capture_output=True)
        return _read(wav)


if __name__ == "__main__":
    main()
