"""Sound files, read to what the recogniser wants and written back."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import soundfile
import soxr
from numpy.typing import NDArray

from handsfree.errors import SoundError
from handsfree.speech.model import SAMPLE_RATE

_GIVE_OTHER = "give a recording as WAV, FLAC, OGG or MP3"


def read_sound(path: Path) -> NDArray[np.int16]:
    """A sound file as 16 kHz mono. Raises SoundError naming what is wrong with it."""
    samples = read_any_sound(path)
    if not samples.any():
        raise SoundError(
            "there is nothing but digital silence in the sound file",
            file=path,
            way_out="check the microphone that it was recorded with",
        )
    return samples


def read_any_sound(path: Path) -> NDArray[np.int16]:
    """The same where digital silence is an answer, too."""
    if not path.is_file():
        raise SoundError("no such sound file", file=path, way_out="check the name")
    try:
        samples, rate = soundfile.read(path, dtype="float32", always_2d=True)
    except (soundfile.LibsndfileError, OSError) as error:
        raise SoundError(
            "this is no sound file, or it is damaged", file=path, way_out=_GIVE_OTHER
        ) from error
    if not len(samples):
        raise SoundError("the sound file is empty", file=path, way_out=_GIVE_OTHER)
    mono: NDArray[np.float32] = samples.mean(axis=1, dtype=np.float32)
    return to_int16(resample(mono, rate))


def resample(samples: NDArray[np.float32], rate: float) -> NDArray[np.float32]:
    """Mono sound at ``rate`` brought to 16 kHz."""
    if rate == SAMPLE_RATE:
        return samples
    return np.asarray(soxr.resample(samples, rate, SAMPLE_RATE), dtype=np.float32)


def to_int16(samples: NDArray[np.float32]) -> NDArray[np.int16]:
    """Sound in -1 to 1 as 16-bit; what is louder is clipped."""
    clipped: NDArray[np.float32] = np.clip(np.rint(samples * 32768.0), -32768, 32767)
    return clipped.astype(np.int16)


def write_sound(path: Path, samples: NDArray[np.int16], rate: int = SAMPLE_RATE) -> None:
    """Writes mono sound; the name's ending (.flac or .wav) chooses the format."""
    try:
        soundfile.write(path, samples, rate, subtype="PCM_16")
    except (soundfile.LibsndfileError, OSError, ValueError, TypeError) as error:
        raise SoundError(
            "the sound cannot be written", file=path, way_out="name a writable .flac or .wav file"
        ) from error
