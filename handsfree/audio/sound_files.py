"""Reads sound files into the recognizer's format and writes them."""

from __future__ import annotations

import logging
import tempfile
import weakref
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

import numpy as np
import soundfile
import soxr
from numpy.typing import NDArray

from handsfree.errors import SoundError
from handsfree.sample_rate import SAMPLE_RATE_HZ

_LOG = logging.getLogger("handsfree.audio")
_SAMPLE_BYTES = 2
_BLOCK, _SMALL_BLOCK = 1 << 16, 1 << 10
_LOWEST_RATE, _HIGHEST_RATE = 4000, 768_000
_OPPOSED = 1e-4
"""Share of the channels' power left in their mean below which they cancel out (40 dB down)."""
_UNKNOWN = 1 << 62
_GIVE_OTHER = "give a recording as WAV, FLAC, OGG or MP3"


def read_sound(path: Path, at_most_s: float | None = None) -> NDArray[np.int16]:
    """Reads a sound file as 16 kHz mono.

    Raises SoundError naming what is wrong with it, or that it is longer than ``at_most_s`` seconds;
    nothing beyond that is read.
    """
    samples = read_any_sound(path, at_most_s)
    _refuse_silence(path, sounds=bool(samples.any()))
    return samples


def read_any_sound(path: Path, at_most_s: float | None = None) -> NDArray[np.int16]:
    """Like ``read_sound``, but accepts a file that is digitally silent."""
    kept = bytearray()
    for block in _blocks(path):
        kept += block.tobytes()
        if at_most_s is not None and len(kept) > at_most_s * SAMPLE_RATE_HZ * _SAMPLE_BYTES:
            raise SoundError(
                f"it is longer than {at_most_s / 60:g} minutes",
                file=path,
                way_out="cut out the part that matters",
            )
    return np.frombuffer(kept, np.int16)


class LongSound:
    """A sound file of any length, decoded to disk as 16 kHz mono and read in pieces."""

    def __init__(self, path: Path) -> None:
        """Raises SoundError naming what is wrong with the file."""
        self._file = tempfile.TemporaryFile()  # noqa: SIM115, closed with this object
        weakref.finalize(self, self._file.close)
        sounds = False
        try:
            for block in _blocks(path):
                sounds = sounds or bool(block.any())
                self._file.write(block.tobytes())
            self._file.flush()
        except OSError as error:
            raise SoundError(
                f"not enough space to unpack it: {(error.strerror or str(error)).lower()}",
                file=path,
                way_out="free some space in the folder for temporary files",
            ) from error
        self._length = self._file.tell() // _SAMPLE_BYTES
        _refuse_silence(path, sounds=sounds)

    def __len__(self) -> int:
        return self._length

    def read(self, start: int, stop: int) -> NDArray[np.int16]:
        """Returns the samples from ``start`` to ``stop``, or up to the end of the sound."""
        start = min(max(start, 0), self._length)
        self._file.seek(start * _SAMPLE_BYTES)
        return np.frombuffer(self._file.read(max(0, stop - start) * _SAMPLE_BYTES), np.int16)


def _refuse_silence(path: Path, *, sounds: bool) -> None:
    if not sounds:
        raise SoundError(
            "the sound file contains only digital silence",
            file=path,
            way_out="check the microphone that recorded it",
        )


def _blocks(path: Path) -> Iterator[NDArray[np.int16]]:
    """Yields a sound file as 16 kHz mono blocks; a damaged file only up to the damage."""
    if not path.is_file():
        raise SoundError("no such sound file", file=path, way_out="check the name")
    try:
        file = soundfile.SoundFile(path)
    except (soundfile.LibsndfileError, OSError) as error:
        raise SoundError("not a sound file, or damaged", file=path, way_out=_GIVE_OTHER) from error
    with file:
        if not _LOWEST_RATE <= file.samplerate <= _HIGHEST_RATE:
            raise SoundError(
                f"its rate of {file.samplerate} Hz is outside {_LOWEST_RATE} to {_HIGHEST_RATE} Hz",
                file=path,
                way_out=_GIVE_OTHER,
            )
        resampler = soxr.ResampleStream(file.samplerate, SAMPLE_RATE_HZ, 1, dtype="float32")
        read, mono_power, power = 0, 0.0, 0.0
        for block in _as_far_as_it_goes(path, file):
            mono: NDArray[np.float32] = block.mean(axis=1, dtype=np.float32)
            read += len(block)
            power += float(np.square(block).mean(axis=1, dtype=np.float64).sum())
            mono_power += float(np.square(mono).sum(dtype=np.float64))
            yield to_int16(mono if _as_it_is(file) else resampler.resample_chunk(mono))
        if not _as_it_is(file) and read:
            yield to_int16(resampler.resample_chunk(np.zeros(0, np.float32), last=True))
        if not read:
            raise SoundError("the sound file is empty", file=path, way_out=_GIVE_OTHER)
        if file.channels > 1 and mono_power < _OPPOSED * power:
            raise SoundError(
                "its channels cancel each other out: one is the inverse of the other",
                file=path,
                way_out="use one of its channels, or check the microphone's wiring",
            )


def _as_it_is(file: soundfile.SoundFile) -> bool:
    return bool(file.samplerate == SAMPLE_RATE_HZ)


def _as_far_as_it_goes(path: Path, file: soundfile.SoundFile) -> Iterator[NDArray[np.float32]]:
    """Yields blocks up to the end or to the damage, and logs the damage."""
    frames, at = _BLOCK, 0
    while True:
        try:
            block = file.read(frames, dtype="float32", always_2d=True)
        except (soundfile.LibsndfileError, OSError):
            if frames == _BLOCK:
                with suppress(soundfile.LibsndfileError, OSError):
                    file.seek(at)
                    frames = _SMALL_BLOCK
                    continue
            break
        if not len(block):
            break
        at += len(block)
        yield block
    if at and file.frames > at and file.frames < _UNKNOWN:
        _LOG.warning(
            "%s is damaged or cut off: read up to %.1f s of %.1f s",
            path,
            at / file.samplerate,
            file.frames / file.samplerate,
        )


def resample(samples: NDArray[np.float32], rate: float) -> NDArray[np.float32]:
    """Resamples mono sound from ``rate`` to 16 kHz."""
    if rate == SAMPLE_RATE_HZ:
        return samples
    return np.asarray(soxr.resample(samples, rate, SAMPLE_RATE_HZ), dtype=np.float32)


def to_int16(samples: NDArray[np.float32]) -> NDArray[np.int16]:
    """Converts sound from the range -1 to 1 to 16 bits; louder samples are clipped."""
    clipped: NDArray[np.float32] = np.clip(np.rint(samples * 32768.0), -32768, 32767)
    return clipped.astype(np.int16)


def write_sound(path: Path, samples: NDArray[np.int16], rate: int = SAMPLE_RATE_HZ) -> None:
    """Writes mono sound; the file name's ending (.flac or .wav) selects the format.

    Raises SoundError if the file cannot be written.
    """
    try:
        soundfile.write(path, samples, rate, subtype="PCM_16")
    except (soundfile.LibsndfileError, OSError, ValueError, TypeError) as error:
        raise SoundError(
            "the sound cannot be written", file=path, way_out="name a writable .flac or .wav file"
        ) from error
