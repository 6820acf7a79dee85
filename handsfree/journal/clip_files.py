"""Stores the sound of an event as a FLAC file named by the event's number."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING

from handsfree.journal.canonical_json import sha256_of
from handsfree.journal.durable_files import OWN_FILE, OWN_FOLDER, disk_fault, replace_file
from handsfree.journal.reader import CLIPS
from handsfree.sample_rate import SAMPLE_RATE_HZ

if TYPE_CHECKING:  # a phone has no numpy
    import numpy as np
    from numpy.typing import NDArray


def flac_of(samples: NDArray[np.int16]) -> bytes:
    """Compresses sound (mono, 16 kHz)."""
    import soundfile  # not available on a phone, which compresses its sound itself

    sound = BytesIO()
    soundfile.write(sound, samples, SAMPLE_RATE_HZ, format="FLAC", subtype="PCM_16")
    return sound.getvalue()


def store_clip(folder: Path, seq: int, samples: NDArray[np.int16]) -> tuple[str, str]:
    """Compresses and stores sound (mono, 16 kHz). See :func:`store_flac`."""
    return store_flac(folder, seq, flac_of(samples))


def store_flac(folder: Path, seq: int, content: bytes) -> tuple[str, str]:
    """Stores a FLAC file for the event ``seq``; returns file name and SHA-256.

    The clip is on disk when this returns, so no event names a missing clip. A clip whose event was
    lost in a crash is overwritten by the next one with that number. Raises JournalError if the disk
    refuses it.
    """
    path = folder / CLIPS / f"{seq:06d}.flac"
    try:
        path.parent.mkdir(OWN_FOLDER, exist_ok=True)
        replace_file(path, content, OWN_FILE)
    except OSError as error:
        raise disk_fault(
            "the sound could not be stored", error, path, "free some space, then resume the visit"
        ) from error
    return path.name, sha256_of(content)
