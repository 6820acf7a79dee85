"""The folder for a training, made from a tiny manifest."""

import csv
import io
import json
import sys

import numpy as np
import pytest
import soundfile

from handsfree.training import prepare, robot_voices
from handsfree.training.prepare import for_development, plain

pytest.importorskip("pocketsphinx", reason="comes with the train extra")

TRAINED_ON = next(name for n in range(99) if not for_development(name := f"speaker-{n}"))
FOR_DEVELOPMENT = next(name for n in range(99) if for_development(name := f"speaker-{n}"))
ROWS = [
    ("a.flac", "words/real", "Stop.", TRAINED_ON, "0.5"),
    ("b.ogg", "sentences", "Open the violin-case!", TRAINED_ON, "0.7"),
    ("a.flac", "words/real", "yes", FOR_DEVELOPMENT, "0.5"),
    ("a.flac", "words/real", "yes", "left-out", "0.5"),
    ("a.flac", "sentences", "xyzzyq", TRAINED_ON, "0.5"),
    ("a.flac", "sentences", "too long", TRAINED_ON, "12.5"),
    ("a.flac", "other_speech", "never mind", TRAINED_ON, "0.5"),
    ("b.ogg", "noise/street", "", TRAINED_ON, "60.0"),
]


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """What ``prepare`` writes for these rows."""
    recordings, out = tmp_path / "recordings", tmp_path / "out"
    recordings.mkdir()
    for name, samples in (("a.flac", 8_000), ("b.ogg", 11_200)):
        buzz = 0.3 * np.sin(np.arange(samples) * 0.05)
        soundfile.write(recordings / name, buzz, 16_000)
    with (recordings / "manifest.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(["path", "kind", "text", "speaker", "seconds"])
        writer.writerows(ROWS)
    monkeypatch.setattr(robot_voices, "carry", lambda folder: folder.mkdir(exist_ok=True))
    given = ["prepare", str(recordings), str(out), "--texts", "200", "--leave-out", "left-out"]
    monkeypatch.setattr(sys, "argv", given)
    prepare.main()
    return out


def test_only_what_can_be_learned_from_is_packed(folder):
    index = json.loads((folder / "index.json").read_text(encoding="utf-8"))
    assert [(row["group"], row["text"]) for row in index] == [
        ("words", "stop"),
        ("sentences", "open the violin case"),
        ("noise", ""),
    ]
    packed = (folder / "sound-1.bin").read_bytes()
    for row, samples in zip(index, (8_000, 11_200, 11_200), strict=True):
        content = packed[row["start"] : row["start"] + row["bytes"]]
        assert len(soundfile.read(io.BytesIO(content))[0]) == samples


def test_every_word_that_is_read_or_said_has_its_phones(folder):
    read = (folder / "texts.txt").read_text(encoding="utf-8").splitlines()
    words = json.loads((folder / "words.json").read_text(encoding="utf-8"))
    assert len(read) == 200
    assert {word for text in read for word in text.split()} | {"violin", "stop"} <= set(words)
    assert all(1 <= phone <= 39 for ways in words.values() for way in ways for phone in way)
    assert (folder / "voices").is_dir()


def test_sound_is_packed_in_files_of_limited_size(folder, monkeypatch):
    first = (folder / "sound-1.bin").stat().st_size
    monkeypatch.setattr(prepare, "PART_BYTES", first - 1)
    prepare.main()
    index = json.loads((folder / "index.json").read_text(encoding="utf-8"))
    assert [row["part"] for row in index] == [1, 1, 2]


def test_a_transcript_is_put_in_the_letters_of_the_dictionary():
    assert (
        plain("  Don't STOP -- the well-known door, No. 5!") == "don't stop the well known door no"
    )
