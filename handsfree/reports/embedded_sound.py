"""The sound of a visit for a page: embedded, as links, or none.

A self-contained report includes its sound. The clips are FLAC at 16 kHz and 16 bits, with which a
page would exceed 10 MB. They are reduced, again as FLAC, because every browser plays it and
encoding runs at over a thousand times real time; a speech codec would take longer than the whole
report. The loudest part is scaled to full scale, and everything finer than a share of the voice's
level is rounded away, which FLAC then does not store. The more sound there is, the coarser the
rounding, so that the page keeps its size. The clips in the folder do not change.
"""

from __future__ import annotations

import base64
import io
import os
from collections.abc import Iterable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import NamedTuple, Protocol
from urllib.parse import quote

import numpy as np
import soundfile
import soxr
from numpy.typing import NDArray

from handsfree.journal.reader import CLIPS
from handsfree.sample_rate import SAMPLE_RATE_HZ

LONGEST = 600 * SAMPLE_RATE_HZ
"""Longest clip to play (samples): a small file can expand to days of silence."""


class Sound(Protocol):
    """A source of sound for a page."""

    def prepare(self, clips: Iterable[str]) -> None:
        """Receives all clips of the page once, before the first address is requested."""

    def address(self, clip: str) -> str | None:
        """The ``src`` of a player for a clip's file name; None without sound."""

    def samples(self, clip: str) -> NDArray[np.int16] | None:
        """The samples of a clip, for its picture; None if it cannot be read."""


class Grade(NamedTuple):
    """A compression grade: samples per second, steps in the voice's level, bytes per second.

    The bytes are those of the recorded visit (measured by tests/bench/office.py).
    """

    rate: int
    steps: int
    bytes_a_second: int


GRADES = (
    Grade(16000, 8, 5400),
    Grade(16000, 4, 4100),
    Grade(8000, 8, 2900),
    Grade(8000, 4, 2200),
    Grade(8000, 2, 1950),
)
ROOM = 6_400_000
"""Largest total size of the sound in a page (bytes): base64 adds a third, and the page stays under
10 MB.
"""


class InlineSound:
    """Clips of a visit's folder as data URLs, compressed to fit one page.

    A clip that is missing, unreadable, or does not fit has no address.
    """

    def __init__(self, folder: Path, room: int = ROOM) -> None:
        self._folder = folder / CLIPS
        self._room = room
        self._grade = GRADES[0]
        self._kept: dict[str, str | None] = {}

    @property
    def grade(self) -> Grade:
        """The grade that clips are compressed to."""
        return self._grade

    def prepare(self, clips: Iterable[str]) -> None:
        """Chooses the finest grade at which all clips fit, and compresses them on all cores.

        The earlier clips get the room first, so their order is kept.
        """
        names = tuple(dict.fromkeys(clips))
        seconds = sum(self._seconds(clip) for clip in names)
        fitting = (grade for grade in GRADES if seconds * grade.bytes_a_second <= self._room)
        self._grade = next(fitting, GRADES[-1])
        with ThreadPoolExecutor(max_workers=os.cpu_count()) as pool:
            for clip, content in zip(names, pool.map(self._small, names), strict=True):
                self._keep(clip, content)

    def address(self, clip: str) -> str | None:
        """The clip as ``data:audio/flac;base64,...``."""
        if clip not in self._kept:
            self._keep(clip, self._small(clip))
        return self._kept[clip]

    def _small(self, clip: str) -> bytes | None:
        """The clip compressed to the grade; None if it cannot be read."""
        samples = self.samples(clip)
        return None if samples is None else small(samples, self._grade)

    def _keep(self, clip: str, content: bytes | None) -> None:
        """Keeps the address of a clip that fits in the room that is left."""
        self._kept[clip] = None
        if content is not None and len(content) <= self._room:
            self._room -= len(content)
            self._kept[clip] = f"data:audio/flac;base64,{base64.b64encode(content).decode()}"

    def samples(self, clip: str) -> NDArray[np.int16] | None:
        """The samples of a clip in the folder; None if it is missing or not 16 kHz mono sound."""
        try:
            samples, rate = soundfile.read(self._path(clip), frames=LONGEST, dtype="int16")
        except (OSError, ValueError, soundfile.SoundFileError):
            return None
        return samples if rate == SAMPLE_RATE_HZ and samples.ndim == 1 and len(samples) else None

    def _seconds(self, clip: str) -> float:
        try:
            return min(float(soundfile.info(self._path(clip)).duration), LONGEST / SAMPLE_RATE_HZ)
        except (OSError, ValueError, soundfile.SoundFileError):
            return 0.0

    def _path(self, clip: str) -> Path:
        """The file of a clip, always inside the clips folder whatever the journal says."""
        return self._folder / Path(clip).name


class LinkedSound:
    """Clips as links, for a page from a server; ``base`` ends in a slash."""

    def __init__(self, folder: Path, base: str) -> None:
        self._files = InlineSound(folder)
        self._folder = folder / CLIPS
        self._base = base

    def prepare(self, clips: Iterable[str]) -> None:
        """Does nothing."""

    def address(self, clip: str) -> str | None:
        """``base`` and the file's name; None if the file is missing."""
        name = Path(clip).name
        return f"{self._base}{quote(name)}" if (self._folder / name).is_file() else None

    def samples(self, clip: str) -> NDArray[np.int16] | None:
        """The samples of the clip."""
        return self._files.samples(clip)


class NoSound:
    """A page without sound."""

    def prepare(self, clips: Iterable[str]) -> None:
        """Does nothing."""

    def address(self, clip: str) -> str | None:
        """Returns None: the page has no sound."""

    def samples(self, clip: str) -> NDArray[np.int16] | None:
        """Returns None: the page has no sound."""


def small(samples: NDArray[np.int16], grade: Grade) -> bytes:
    """Encodes a clip (16 kHz) as a small FLAC file: louder, and rounded to steps of the voice's
    level.
    """
    sound = samples.astype(np.float32)
    if grade.rate != SAMPLE_RATE_HZ:
        sound = soxr.resample(sound, SAMPLE_RATE_HZ, grade.rate, quality="MQ")
    loudness = _voice_rms(sound, grade.rate)
    peak = float(np.max(np.abs(sound), initial=1.0))
    gain = min(30000 / max(peak, 1.0), 6000 / max(loudness, 1.0))
    # A power of two: FLAC omits bits that are zero in every sample.
    step = 2 ** max(0, int(np.floor(np.log2(max(1.0, loudness * gain / grade.steps)))))
    rounded = np.clip(np.round(sound * gain / step) * step, -32768, 32767 - step)
    content = io.BytesIO()
    soundfile.write(
        content,
        rounded.astype(np.int16),
        grade.rate,
        format="FLAC",
        subtype="PCM_16",
        compression_level=0.375,
    )
    return content.getvalue()


def _voice_rms(sound: NDArray[np.float32], rate: int) -> float:
    """RMS level of the loudest tenth of the 20 ms frames, where the voice is."""
    piece = rate // 50
    pieces = sound[: len(sound) // piece * piece].reshape(-1, piece)
    if not len(pieces):
        return float(np.sqrt(np.mean(sound**2))) if len(sound) else 0.0
    return float(np.percentile(np.sqrt(np.mean(pieces**2, axis=1)), 90))
