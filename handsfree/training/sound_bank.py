"""All sound of a training, as one long array on the device that trains."""

from __future__ import annotations

import io
import json
from collections.abc import Collection
from dataclasses import dataclass, field
from itertools import islice, product
from multiprocessing import Pool
from pathlib import Path

import numpy as np
import soundfile
import torch
from torch import Tensor

from handsfree.training.natural import read_said
from handsfree.training.robot_voices import RATE_HZ, Sound

SYNTHETIC = "synthetic"
NATURAL = "natural"
NOISE = "noise"
CUT = "cut"
CUT_DIGIT = "cut digit"
DIGITS = frozenset(("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"))
_MOST_WAYS = 6
_OUTPUT_SAMPLES = 480
_AT_ONCE = 100_000_000


@dataclass(frozen=True)
class Piece:
    """One utterance: its position in the bank, and the possible pronunciations of its text."""

    start: int
    length: int
    ways: tuple[tuple[int, ...], ...]


@dataclass
class Bank:
    """Sound as int16 at 16 kHz, the utterances in it by group, and the positions of noises."""

    sound: Tensor
    groups: dict[str, list[Piece]] = field(default_factory=dict)
    noises: list[tuple[int, int]] = field(default_factory=list)
    used: int = 0

    @classmethod
    def empty(cls, hours: float, device: torch.device) -> Bank:
        """Creates a bank with room for ``hours`` hours of sound."""
        return cls(torch.zeros(round(hours * 3600 * RATE_HZ), dtype=torch.int16, device=device))

    def add(self, sound: Sound) -> tuple[int, int] | None:
        """Stores a sound; returns its position and length, or None if the bank is full."""
        place = self.used, len(sound)
        if sum(place) > len(self.sound):
            return None
        self.sound[place[0] : sum(place)] = sent(torch.from_numpy(sound), self.sound.device)
        self.used += len(sound)
        return place

    def add_utterance(self, group: str, sound: Sound, ways: tuple[tuple[int, ...], ...]) -> bool:
        """Stores an utterance if its sound is long enough for its phones; returns True if it
        did.
        """
        if not _can_be_learned(ways, len(sound)) or (place := self.add(sound)) is None:
            return False
        self.groups.setdefault(group, []).append(Piece(*place, ways))
        return True

    def hours(self, group: str) -> float:
        """Hours of sound in a group."""
        return sum(piece.length for piece in self.groups.get(group, ())) / RATE_HZ / 3600


def sent(tensor: Tensor, device: torch.device) -> Tensor:
    """Copies a tensor to the device without waiting for the work queued there."""
    if device.type == "cuda":
        tensor = tensor.pin_memory()
    return tensor.to(device, non_blocking=True)


Words = dict[str, list[list[int]]]


def ways_to_say(text: str, words: Words) -> tuple[tuple[int, ...], ...]:
    """The phones of a text in several pronunciations, the usual one first."""
    ways = product(*(words[word] for word in text.split()))
    return tuple(tuple(p for word in way for p in word) for way in islice(ways, _MOST_WAYS))


def add_recordings(
    bank: Bank, data: Path, words: Words, without: Collection[str], processes: int
) -> None:
    """Adds the recordings of ``prepare``, except those with a word of ``without``."""
    index = json.loads((data / "index.json").read_text(encoding="utf-8"))
    parts = {part: (data / f"sound-{part}.bin").read_bytes() for part in {r["part"] for r in index}}
    rows = [row for row in index if not set(row["text"].split()) & set(without)]
    encoded = (parts[r["part"]][r["start"] : r["start"] + r["bytes"]] for r in rows)
    with Pool(processes) as pool:
        for row, sound in zip(rows, pool.imap(decoded, encoded, chunksize=32), strict=True):
            if row["group"] == NOISE:
                if (place := bank.add(sound)) is not None:
                    bank.noises.append(place)
            elif bank.add_utterance(row["group"], sound, ways_to_say(row["text"], words)):
                begin = bank.used - len(sound)
                for word, first, last in row.get("cuts", ()):
                    piece = Piece(begin + first, last - first, ways_to_say(word, words))
                    group = CUT_DIGIT if word in DIGITS else CUT
                    bank.groups.setdefault(group, []).append(piece)


def add_synthetic(bank: Bank, group: str, folder: Path, words: Words) -> None:
    """Adds the sound of a group of voices, a whole file at once."""
    for sound, said in read_said(folder):
        for first in range(0, len(sound), _AT_ONCE):
            part = np.array(sound[first : first + _AT_ONCE])
            if bank.add(part) is None:
                return
        begin = bank.used - len(sound)
        pieces = bank.groups.setdefault(group, [])
        for each in said:
            ways = ways_to_say(each.text, words)
            if _can_be_learned(ways, each.length):
                pieces.append(Piece(begin + each.start, each.length, ways))


def _can_be_learned(ways: tuple[tuple[int, ...], ...], length: int) -> bool:
    """True if a sound is long enough for its phones."""
    return 0 < len(ways[0]) * _OUTPUT_SAMPLES <= length + RATE_HZ // 4


def decoded(content: bytes) -> Sound:
    """Decodes a recording, scaled to half of full scale."""
    sound, _ = soundfile.read(io.BytesIO(content), dtype="float32", always_2d=True)
    mono = sound[:, 0]
    return np.asarray(mono * (16000.0 / max(float(np.abs(mono).max()), 1e-3)), np.int16)
