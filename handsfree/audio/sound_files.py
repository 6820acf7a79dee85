"""Sound files, read to what the recognizer wants and written back."""

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
"""Of the channels' power so little is left in their middle: 40 dB less."""
_UNKNOWN = 1 << 62
_GIVE_OTHER = "give a recording as WAV, FLAC, OGG or MP3"


def read_sound(path: Path, at_most_s: float | None = None) -> NDArray[np.int16]:
    """A sound file as 16 kHz mono.

    Raises SoundError naming what is wrong with it, or when it is longer than ``at_most_s``: no
    more of it than that is read.
    """
    samples = read_any_sound(path, at_most_s)
    _refuse_silence(path, sounds=bool(samples.any()))
    return samples


def read_any_sound(path: Path, at_most_s: float | None = None) -> NDArray[np.int16]:
    """The same where digital silence is an answer, too."""
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
    """A sound file as 16 kHz mono on disk, of which a stretch at a time is read: hours of it."""

    def __init__(self, path: Path) -> None:
        """Raises SoundError naming what is wrong with it."""
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
                f"there is no room to unpack it: {(error.strerror or str(error)).lower()}",
                file=path,
                way_out="free some space where temporary files lie",
            ) from error
        self._length = self._file.tell() // _SAMPLE_BYTES
        _refuse_silence(path, sounds=sounds)

    def __len__(self) -> int:
        return self._length

    def read(self, start: int, stop: int) -> NDArray[np.int16]:
        """The samples from ``start`` to ``stop``, as far as there are some."""
        start = min(max(start, 0), self._length)
        self._file.seek(start * _SAMPLE_BYTES)
        return np.frombuffer(self._file.read(max(0, stop - start) * _SAMPLE_BYTES), np.int16)


def _refuse_silence(path: Path, *, sounds: bool) -> None:
    if not sounds:
        raise SoundError(
            "there is nothing but digital silence in the sound file",
            file=path,
            way_out="check the microphone that it was recorded with",
        )


def _blocks(path: Path) -> Iterator[NDArray[np.int16]]:
    """A sound file as 16 kHz mono, block by block; a damaged one as far as it goes."""
    if not path.is_file():
        raise SoundError("no such sound file", file=path, way_out="check the name")
    try:
        file = soundfile.SoundFile(path)
    except (soundfile.LibsndfileError, OSError) as error:
        raise SoundError(
            "this is no sound file, or it is damaged", file=path, way_out=_GIVE_OTHER
        ) from error
    with file:
        if not _LOWEST_RATE <= file.samplerate <= _HIGHEST_RATE:
            raise SoundError(
                f"it claims {file.samplerate} samples a second, which no recording of a voice has",
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
                "its channels cancel each other out: one is the other turned round",
                file=path,
                way_out="give one channel of it alone, or see how the microphone is wired",
            )


def _as_it_is(file: soundfile.SoundFile) -> bool:
    return bool(file.samplerate == SAMPLE_RATE_HZ)


def _as_far_as_it_goes(path: Path, file: soundfile.SoundFile) -> Iterator[NDArray[np.float32]]:
    """Block by block up to the end, or to where it is damaged, which is told."""
    frames, at = _BLOCK, 0
    while True:
        try:
            block = file.read(frames, dtype="float32", always_2d=True)
        except (soundfile.LibsndfileError, OSError):
            if frames == _BLOCK and at:
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
    """Mono sound at ``rate`` brought to 16 kHz."""
    if rate == SAMPLE_RATE_HZ:
        return samples
    return np.asarray(soxr.resample(samples, rate, SAMPLE_RATE_HZ), dtype=np.float32)


def to_int16(samples: NDArray[np.float32]) -> NDArray[np.int16]:
    """Sound in -1 to 1 as 16-bit; what is louder is clipped."""
    clipped: NDArray[np.float32] = np.clip(np.rint(samples * 32768.0), -32768, 32767)
    return clipped.astype(np.int16)


def write_sound(path: Path, samples: NDArray[np.int16], rate: int = SAMPLE_RATE_HZ) -> None:
    """Writes mono sound; the name's ending (.flac or .wav) chooses the format."""
    try:
        soundfile.write(path, samples, rate, subtype="PCM_16")
    except (soundfile.LibsndfileError, OSError, ValueError, TypeError) as error:
        raise SoundError(
            "the sound cannot be written", file=path, way_out="name a writable .flac or .wav file"
        ) from error
