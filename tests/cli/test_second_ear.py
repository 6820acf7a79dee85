"""A visit with a second ear, or with an unavailable one, as a user runs it."""

from __future__ import annotations

from importlib.util import find_spec
from pathlib import Path

import pytest
import soundfile

from handsfree.data import data_folder
from handsfree.journal import events as ev
from handsfree.journal.reader import read, verify
from handsfree.second_ear.weights import PACKAGE_SHA256

from ..second_ear.test_port import why_not_real
from .test_visit import JOB, run

BEGINS_S = 35
"""Length of the part of the recorded visit that is used (s): up to its first three readings."""


@pytest.fixture(scope="module")
def recording(tmp_path_factory: pytest.TempPathFactory) -> Path:
    sound, rate = soundfile.read(
        data_folder("audio_fixtures") / "harbour-hall.flac", dtype="int16", stop=BEGINS_S * 16_000
    )
    path = tmp_path_factory.mktemp("sound") / "begins.flac"
    soundfile.write(path, sound, rate)
    return path


def visit(recording: Path, folder: Path) -> tuple[str, list[ev.Body]]:
    code, out = run("visit", "--job", str(JOB), "--sound", str(recording), "--out", str(folder))
    assert code == 0, out
    assert verify(folder).whole
    return out, [event.body for event in read(folder)]


def values(bodies: list[ev.Body]) -> list[str]:
    return [str(body.reading.value) for body in bodies if isinstance(body, ev.ReadingAccepted)]


@pytest.mark.slow
def test_a_folder_that_is_not_there_is_one_line_and_the_visit_goes_on(
    recording, tmp_path, monkeypatch
):
    monkeypatch.setenv("HANDSFREE_SECOND_EAR", str(tmp_path / "none"))
    out, bodies = visit(recording, tmp_path / "visit")
    assert out.count("Without the second ear: ") == 1
    installed = find_spec("ctranslate2") is not None
    why = "model.bin: this file of the second ear is missing" if installed else "ctranslate2"
    assert why in out
    assert isinstance(bodies[0], ev.VisitOpened) and bodies[0].second_ear == ""
    assert values(bodies)


@pytest.mark.slow
def test_the_real_ear_marks_the_readings_of_the_recorded_visit(recording, tmp_path, monkeypatch):
    if why := why_not_real():
        pytest.skip(why)
    monkeypatch.delenv("HANDSFREE_SECOND_EAR")
    out, bodies = visit(recording, tmp_path / "visit")
    assert "second ear" not in out
    assert isinstance(bodies[0], ev.VisitOpened)
    assert bodies[0].second_ear == f"whisper-tiny.en {PACKAGE_SHA256['model.bin'][:12]}"
    heard = [body.outcome for body in bodies if isinstance(body, ev.SecondHeard)]
    assert "agreed" in heard
    marks = [body.reading.second_ear for body in bodies if isinstance(body, ev.ReadingAccepted)]
    assert "agreed" in marks


@pytest.mark.slow
def test_damaged_weights_are_told_with_the_first_value(recording, tmp_path, monkeypatch):
    if why := why_not_real():
        pytest.skip(why)
    for name in ("model.bin", "config.json", "vocabulary.txt"):
        (tmp_path / name).write_text("damaged", encoding="utf-8")
    monkeypatch.setenv("HANDSFREE_SECOND_EAR", str(tmp_path))
    out, bodies = visit(recording, tmp_path / "visit")
    assert out.count("The second ear has stopped.") == 1
    (fault,) = [body for body in bodies if isinstance(body, ev.Fault)]
    assert fault.what == "second_ear_lost" and "weights cannot be used" in fault.detail
    assert values(bodies)
