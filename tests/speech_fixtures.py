"""Fixtures for the tests of speech: the shipped model, synthetic voices, real people."""

from __future__ import annotations

import csv
import os
import shutil
import subprocess
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from handsfree.audio.sound_files import read_sound
from handsfree.recognition.recognizer import VoskRecognizer
from handsfree.recognition.speech_model import SpeechModel
from handsfree.synthesis.voice import VoiceWorker

Synthesize = Callable[[str], NDArray[np.int16]]
_BESIDE_THE_REPOSITORY = Path(__file__).parents[2] / "shared" / "speech"


@pytest.fixture(scope="session")
def recognizer() -> VoskRecognizer:
    return VoskRecognizer(SpeechModel.load())


@pytest.fixture(scope="session")
def synthesize(tmp_path_factory: pytest.TempPathFactory) -> Synthesize:
    """Speaks a text with a synthetic voice other than the tool's own."""
    if shutil.which("flite") is None:
        pytest.skip("flite is missing: apt install flite")
    file = tmp_path_factory.mktemp("flite") / "said.wav"

    def say(text: str) -> NDArray[np.int16]:
        subprocess.run(["flite", "-voice", "rms", "-t", text, "-o", file], check=True)
        return read_sound(file)

    return say


@pytest.fixture
def voice() -> Iterator[VoiceWorker]:
    """The tool's own voice."""
    if shutil.which("espeak-ng") is None:
        pytest.skip("espeak-ng is missing: apt install espeak-ng")
    worker = VoiceWorker()
    yield worker
    worker.close()


@dataclass(frozen=True)
class Recording:
    """A real person's recording, with its words."""

    path: Path
    kind: str
    text: str


@pytest.fixture(scope="session")
def people() -> list[Recording]:
    """Recordings of real people, which are not part of the repository."""
    folder = Path(os.environ.get("HANDSFREE_SPEECH_DATA") or _BESIDE_THE_REPOSITORY)
    if not (folder / "manifest.csv").is_file():
        pytest.skip("no recordings of people: name their folder in HANDSFREE_SPEECH_DATA")
    with (folder / "manifest.csv").open(encoding="utf-8", newline="") as table:
        return [
            Recording(folder / row["path"], row["kind"], row["text"])
            for row in csv.DictReader(table)
        ]
