from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import soundfile
import soxr

from handsfree.audio.sound_files import LongSound, read_sound, write_sound
from handsfree.data import data_folder
from handsfree.errors import SoundError


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
        "silent.wav": "only digital silence",
        "text.wav": "not a sound file, or damaged",
        "nothing.wav": "not a sound file, or damaged",
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


def noise(seconds: float, rate: int = 16_000) -> np.ndarray:
    return np.random.default_rng(1).normal(0, 0.05, round(seconds * rate))


@pytest.mark.parametrize("rate", [8000, 16_000, 44_100, 48_000])
def test_a_long_sound_is_the_same_as_one_that_is_read_at_once(tmp_path: Path, rate: int) -> None:
    soundfile.write(tmp_path / "a.wav", noise(9.3, rate), rate)
    at_once, long = read_sound(tmp_path / "a.wav"), LongSound(tmp_path / "a.wav")
    assert len(long) == len(at_once) == round(9.3 * 16_000)
    assert np.array_equal(long.read(0, len(long)), at_once)
    assert np.array_equal(long.read(5000, 6000), at_once[5000:6000])
    assert np.array_equal(long.read(len(long) - 10, len(long) + 10), at_once[-10:])
    assert len(long.read(-5, 3)) == 3 and not len(long.read(10**9, 10**9 + 5))
    # A resampler that has the whole sound at once is the check from outside (soxr, run).
    whole, _ = soundfile.read(tmp_path / "a.wav", dtype="float32")
    other = soxr.resample(whole, rate, 16_000) if rate != 16_000 else whole
    assert np.abs(at_once / 32768 - other[: len(at_once)]).max() < 1e-3


@pytest.mark.parametrize("length_s", [3, 30])  # shorter than one block, and longer
def test_a_flac_that_was_cut_off_is_read_as_far_as_it_goes_and_told(
    tmp_path: Path, caplog: pytest.LogCaptureFixture, length_s: int
) -> None:
    file = tmp_path / "a.flac"
    soundfile.write(file, noise(length_s), 16_000)
    whole = read_sound(file)
    file.write_bytes(file.read_bytes()[: file.stat().st_size * 2 // 3])
    part = read_sound(file)
    assert 0.5 * len(whole) < len(part) < 0.7 * len(whole)
    assert np.array_equal(part, whole[: len(part)])
    assert "is damaged or cut off: read up to" in caplog.text


def test_channels_that_cancel_each_other_are_told_as_that(tmp_path: Path) -> None:
    sound = noise(1)
    soundfile.write(tmp_path / "a.wav", np.stack((sound, -sound), axis=1), 16_000)
    with pytest.raises(SoundError, match="its channels cancel each other out"):
        read_sound(tmp_path / "a.wav")
    other = np.random.default_rng(2).normal(0, 0.05, len(sound))
    soundfile.write(tmp_path / "b.wav", np.stack((sound, other), axis=1), 16_000)
    assert len(read_sound(tmp_path / "b.wav")) == len(sound)


@pytest.mark.parametrize("rate", [1, 100, 2_000_000])
def test_a_rate_that_no_recording_has_is_one_line(tmp_path: Path, rate: int) -> None:
    soundfile.write(tmp_path / "a.wav", noise(1), rate)
    with pytest.raises(SoundError, match=f"its rate of {rate} Hz is outside"):
        read_sound(tmp_path / "a.wav")


# The most memory of this program alone: getrusage counts that of its parent at the fork as well.
HOURS = """
import sys
from pathlib import Path
from handsfree.recognition.ears import RecordedEars
from handsfree.recognition.recognizer import FakeRecognizer
ears = RecordedEars(Path(sys.argv[1]), FakeRecognizer([]))
while ears.listen() is not None:
    pass
status = Path("/proc/self/status").read_text().splitlines()
print(*(line.split()[1] for line in status if line.startswith("VmHWM:")))
"""


HEARD_HOURS = """
import io, sys
from contextlib import redirect_stdout
from pathlib import Path
from handsfree.cli import main
with redirect_stdout(io.StringIO()) as heard:
    main(["hear", "--json", sys.argv[1]], standalone_mode=False)
assert "point" in heard.getvalue(), heard.getvalue()
status = Path("/proc/self/status").read_text().splitlines()
print(*(line.split()[1] for line in status if line.startswith("VmHWM:")))
"""


@pytest.fixture(scope="module")
def an_hour(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Five minutes of a voice, and noise: 317 MB as samples, 115 MB at the recognizer's rate."""
    file = tmp_path_factory.mktemp("hour") / "hour.flac"
    rate = 44_100
    visit, made_at = soundfile.read(data_folder("audio_fixtures") / "harbour-hall.flac")
    minute = (noise(60, rate) * 3000).astype(np.int16)
    with soundfile.SoundFile(file, "w", rate, 1, "PCM_16") as out:
        out.write(soxr.resample(visit, made_at, rate))
        for _ in range(55):
            out.write(minute)
    return file


@pytest.mark.slow
@pytest.mark.parametrize(
    ("program", "most_kib"), [(HOURS, 150_000), (HEARD_HOURS, 230_000)], ids=["visit", "hear"]
)
def test_an_hour_of_sound_takes_little_memory(an_hour: Path, program: str, most_kib: int) -> None:
    """72 and 155 MB when this was written; an hour of samples, held at once, would be too much."""
    done = subprocess.run(
        [sys.executable, "-c", program, an_hour], capture_output=True, text=True, check=True
    )
    assert 10_000 < int(done.stdout) < most_kib
