"""A natural voice: missing requirements are named, and the network gets the expected input."""

import json
import shutil
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from handsfree.rehearsal import natural_voice
from handsfree.rehearsal.synthetic_voices import SyntheticVoices, why_missing


@pytest.fixture
def folder(tmp_path: Path, monkeypatch) -> Path:
    """A folder of voices with one voice and a few symbols."""
    (tmp_path / "voices").mkdir()
    (tmp_path / "kokoro.onnx").touch()
    symbols = {"j": 7, "\u02c8": 8, "\u025b": 9, "s": 10, ".": 11}
    (tmp_path / "config.json").write_text(json.dumps({"vocab": symbols}))
    style = np.repeat(np.arange(510, dtype="<f4"), 256)
    style.tofile(tmp_path / "voices" / "am_someone.bin")
    monkeypatch.setenv(natural_voice.FOLDER_VARIABLE, str(tmp_path))
    monkeypatch.setattr(natural_voice, "find_spec", lambda name: object())
    return tmp_path


def test_what_is_missing_is_named(folder: Path, monkeypatch):
    assert "has no voices/am_nobody.bin" in str(natural_voice.why_missing("am_nobody"))
    (folder / "config.json").unlink()
    assert "has no config.json" in str(natural_voice.why_missing("am_someone"))
    monkeypatch.setattr(natural_voice, "find_spec", lambda name: None)
    (folder / "config.json").touch()
    assert "onnxruntime is not installed" in str(natural_voice.why_missing("am_someone"))
    monkeypatch.delenv(natural_voice.FOLDER_VARIABLE)
    assert natural_voice.FOLDER_VARIABLE in str(natural_voice.why_missing("am_someone"))


@pytest.mark.skipif(shutil.which("espeak-ng") is None, reason="espeak-ng is not installed")
@pytest.mark.parametrize("accent", ["en-us", "en"])
def test_a_live_wire_has_the_vowel_of_five_after_still_too(folder: Path, accent: str):
    symbols = {"\u026a": 1, "a": 2, "v": 3}
    (folder / "config.json").write_text(json.dumps({"vocab": symbols}))
    natural_voice._symbols.cache_clear()
    assert natural_voice._tokens(folder, "still live.", accent) == [1, 2, 1, 3]
    natural_voice._symbols.cache_clear()


@pytest.mark.skipif(shutil.which("espeak-ng") is None, reason="espeak-ng is not installed")
def test_a_text_is_said_in_the_style_for_its_length(folder: Path, monkeypatch, tmp_path: Path):
    given = {}

    class Session:
        def get_inputs(self):
            return [SimpleNamespace(name=name) for name in ("tokens", "style", "speed")]

        def run(self, _, inputs):
            given.update(inputs)
            return (np.sin(np.arange(24_000) * 2 * np.pi * 440 / 24_000)[None].astype(np.float32),)

    monkeypatch.setattr(natural_voice, "_session", lambda network: Session())
    why_missing.cache_clear()
    sound = SyntheticVoices(tmp_path / "kept").say("natural:am_someone", "yes")
    assert given["tokens"] == [[0, 7, 8, 9, 10, 11, 0]]
    assert given["style"].shape == (1, 256) and set(given["style"].ravel()) == {5.0}
    assert len(sound) == pytest.approx(16_000, abs=200)
    spectrum = np.abs(np.fft.rfft(sound[:16_000], 16_000))
    assert abs(int(spectrum.argmax()) - 440) <= 1
