"""Measures the memory and the processor time of commands that listen to hours of sound.

    python -m tests.bench.long_recordings --hours 3

One recording holds a quiet room and then the recorded visit (``visit --sound``), the other one
the recorded visit repeated, so that somebody speaks all the time (``hear``).
"""

from __future__ import annotations

import argparse
import math
import os
import subprocess
import sys
import tempfile
from collections.abc import Iterable, Iterator
from itertools import chain, repeat
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray

from handsfree.data import data_folder
from handsfree.sample_rate import SAMPLE_RATE_HZ

FIXTURES = data_folder("audio_fixtures")
RECORDED = FIXTURES / "harbour-hall.flac"
ROOM_RMS = 20
"""Noise of the quiet room, of 32,768."""


def room(seconds: int) -> Iterator[NDArray[np.int16]]:
    """Yields the noise of a quiet room, a second at a time (16 kHz, mono)."""
    rng = np.random.default_rng(1)
    for _ in range(seconds):
        yield rng.normal(0, ROOM_RMS, SAMPLE_RATE_HZ).astype(np.int16)


def write(file: Path, parts: Iterable[NDArray[np.int16]]) -> None:
    """Writes parts into a sound file, one after another."""
    with soundfile.SoundFile(file, "w", SAMPLE_RATE_HZ, 1, "PCM_16") as sound:
        for part in parts:
            sound.write(part)


def costs(*words: str) -> tuple[float, float]:
    """Runs a command of handsfree; returns its largest memory (MB) and its processor time (s).

    Raises CalledProcessError if it fails.
    """
    command = [sys.executable, "-m", "handsfree", *words]
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL)
    _, status, used = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode:
        raise subprocess.CalledProcessError(process.returncode, command)
    return used.ru_maxrss * 1024 / 1e6, used.ru_utime + used.ru_stime


def main() -> None:
    """Prints what each command took."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--hours", type=float, default=3.0)
    seconds = parser.parse_args().hours * 3600
    recorded = soundfile.read(RECORDED, dtype="int16")[0]
    with tempfile.TemporaryDirectory() as folder:
        quiet, spoken = Path(folder) / "quiet.wav", Path(folder) / "spoken.wav"
        write(quiet, chain(room(round(seconds)), [recorded]))
        write(spoken, repeat(recorded, math.ceil(seconds * SAMPLE_RATE_HZ / len(recorded))))
        visit = ["visit", "--job", str(FIXTURES / "harbour-hall.job.toml"), "--procedure"]
        visit += ["controller-replaced-pair", "--out", f"{folder}/visit", "--sound", str(quiet)]
        for what, words in (("visit --sound", visit), ("hear", ["hear", str(spoken)])):
            memory_mb, cpu_s = costs(*words)
            print(f"{what}: {memory_mb:.0f} MB, {cpu_s:.0f} s of processor time", flush=True)


if __name__ == "__main__":
    main()
