from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import soundfile

from handsfree.errors import SoundError
from handsfree.speech.sound import read_sound, write_sound


def tone(rate: int, seconds: float = 1.0, hertz: float = 440.0) -> np.ndarray:
    return 0.5 * np.sin(2 * np.pi * hertz / rate * np.arange(round(seconds * rate)))


@pytest.mark.parametrize("ending", [".flac", ".wav"])
def test_what_is_written_is_read_again(tmp_path: Path, ending: str) -> None:
    sound = (tone(16_000) * 32767).astype(np.int16)
    write_sound(tmp_path / f"a{ending}", sound)
    assert np.array_equal(read_sound(tmp_path / f"a{ending}"), sound)


def test_a_stereo_file_at_another_rate_becomes_mono_at_16_khz(tmp_path: Path) -> None:
    left, right = tone(44_100), 0.5 * tone(44_100)
    soundfile.write(tmp_path / "a.wav", np.stack((left, right), axis=1), 44_100)
    sound = read_sound(tmp_path / "a.wav")
    middle = slice(1000, 15_000)  # a resampler needs a little sound on both sides
    assert len(sound) == 16_000
    assert sound[middle] / 32768 == pytest.approx(0.75 * tone(16_000)[middle], abs=1e-3)


def test_a_file_that_is_no_use_is_named_with_the_reason(tmp_path: Path) -> None:
    soundfile.write(tmp_path / "empty.wav", np.zeros(0), 16_000)
    soundfile.write(tmp_path / "silent.wav", np.zeros(16_000), 16_000)
    (tmp_path / "text.wav").write_text("opening time six point two", encoding="utf-8")
    (tmp_path / "nothing.wav").write_bytes(b"")
    reasons = {
        "missing.wav": "no such sound file",
        "empty.wav": "the sound file is empty",
        "silent.wav": "nothing but digital silence",
        "text.wav": "no sound file, or it is damaged",
        "nothing.wav": "no sound file, or it is damaged",
    }
    for name, reason in reasons.items():
        with pytest.raises(SoundError, match=reason) as raised:
            read_sound(tmp_path / name)
        assert raised.value.file == tmp_path / name
        assert raised.value.way_out


def test_a_place_that_cannot_be_written_is_named(tmp_path: Path) -> None:
    for path in (tmp_path / "no folder" / "a.wav", tmp_path / "a.strange"):
        with pytest.raises(SoundError, match="cannot be written"):
            write_sound(path, np.zeros(10, np.int16))
