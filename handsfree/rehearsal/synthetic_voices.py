"""Synthetic voices for the technician, made by programs on this machine and cached.

flite, festival and espeak-ng come from Debian (`apt-get install flite espeak-ng festival
festvox-us-slt-hts`); 'natural:NAME' is a voice from a folder (natural_voice.py). Each text is made
once per voice and then read from the cache.
"""

from __future__ import annotations

import hashlib
import shutil
import subprocess
import tempfile
from functools import cache
from pathlib import Path

import numpy as np
import soundfile
import soxr
from numpy.typing import NDArray
from platformdirs import user_cache_path

from handsfree.errors import RehearsalError
from handsfree.rehearsal import natural_voice
from handsfree.sample_rate import SAMPLE_RATE_HZ

Sound = NDArray[np.float64]

VOICES = (
    *("flite:slt", "espeak:en-us+m3", "espeak:en-gb+f2", "festival:cmu_us_slt_arctic_hts"),
    *("flite:rms", "flite:awb", "festival:ked_diphone"),
    *("natural:af_sarah", "natural:am_michael", "natural:bf_isabella", "natural:bm_lewis"),
)
"""Voices of the benchmark. The speech model never heard the first four and the natural ones
(docs/speech-model.md); it was trained on flite rms and awb.
"""
DEFAULT_VOICES = ("flite:rms", "flite:slt", "espeak:en-us+m3", "espeak:en-us")
"""Default voices of a rehearsal; the first installed one is used."""
_PROGRAMS = {"flite": "flite", "festival": "text2wave", "espeak": "espeak-ng"}
_NATURAL = "natural"
_RUN_S = 30.0
_LOUD = 0.01
_BEFORE, _AFTER = round(0.02 * SAMPLE_RATE_HZ), round(0.1 * SAMPLE_RATE_HZ)


def default_voice() -> str | None:
    """The default voice, or None if none is installed."""
    return next((voice for voice in DEFAULT_VOICES if why_missing(voice) is None), None)


@cache
def why_missing(voice: str) -> str | None:
    """Says why a voice is unavailable; None if it is available."""
    engine, _, name = voice.partition(":")
    if engine == _NATURAL:
        return natural_voice.why_missing(name)
    if engine not in _PROGRAMS or not name:
        return f"'{voice}' names no speech program: write for example flite:slt or espeak:en-us"
    program = _PROGRAMS[engine]
    if shutil.which(program) is None:
        return f"the program {program} is not installed"
    try:
        found = _made(voice, "yes")
    except (OSError, subprocess.SubprocessError, soundfile.LibsndfileError):
        return f"{program} has no voice '{name}'"
    if engine == "flite":  # flite silently substitutes another voice
        listed = subprocess.run(["flite", "-lv"], capture_output=True, text=True, timeout=_RUN_S)
        return None if name in listed.stdout.split() else f"flite has no voice '{name}'"
    return None if len(found) else f"{program} has no voice '{name}'"


class SyntheticVoices:
    """Speaks texts and caches the sound in a folder."""

    def __init__(self, folder: Path | None = None) -> None:
        self._folder = folder or user_cache_path("handsfree") / "rehearsal-voices"

    def say(self, voice: str, text: str) -> Sound:
        """Returns a text in a voice: mono, 16 kHz, trimmed of silence, scaled to an RMS of one.

        Raises RehearsalError if the voice is missing.
        """
        key = hashlib.sha256(f"{voice}\n{text}".encode()).hexdigest()[:24]
        kept = self._folder / f"{key}.flac"
        if kept.exists():
            samples, _ = soundfile.read(kept, dtype="float64")
        else:
            missing = why_missing(voice)
            if missing is not None:
                raise RehearsalError(
                    f"the voice '{voice}' is not available: {missing}",
                    way_out="install it, choose another with --voice, or rehearse with --typed",
                )
            samples = _made(voice, text)
            self._keep(kept, samples)
        loud = np.sort(np.abs(samples))[len(samples) // 2 :]
        return np.asarray(samples / max(float(np.sqrt(np.mean(loud**2))), 1e-6))

    def _keep(self, path: Path, samples: Sound) -> None:
        """Writes to a temporary file and renames it, so that no partial sound is ever read."""
        path.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile(dir=path.parent, suffix=".flac", delete=False) as file:
            soundfile.write(file, samples, SAMPLE_RATE_HZ, format="FLAC", subtype="PCM_16")
        Path(file.name).replace(path)


def _made(voice: str, text: str) -> Sound:
    engine, name = voice.split(":")
    if engine == _NATURAL:
        return _trimmed(natural_voice.made(name, text))
    with tempfile.TemporaryDirectory(prefix="handsfree-voice-") as folder:
        wav = Path(folder) / "line.wav"
        command = {
            "flite": ["flite", "-voice", name, "-t", text, "-o", str(wav)],
            "festival": ["text2wave", "-eval", f"(voice_{name})", "-o", str(wav)],
            "espeak": ["espeak-ng", "-v", name, "-s", "150", "-w", str(wav), text],
        }[engine]
        subprocess.run(
            command, input=text, text=True, check=True, capture_output=True, timeout=_RUN_S
        )
        samples, rate_hz = soundfile.read(wav, dtype="float64")
    return _trimmed(soxr.resample(samples, rate_hz, SAMPLE_RATE_HZ))


def _trimmed(samples: Sound) -> Sound:
    """Trims the surrounding silence and scales to just below full scale."""
    loud = np.flatnonzero(np.abs(samples) > _LOUD * np.abs(samples).max(initial=1e-9))
    if not len(loud):
        return np.zeros(0)
    whole = samples[max(0, loud[0] - _BEFORE) : loud[-1] + _AFTER]
    return np.asarray(whole / np.abs(whole).max() * 0.9)
