"""handsfree time with files that have marks at known samples, written by soundfile."""

from __future__ import annotations

import json
import shutil
import subprocess
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
import soundfile
from click.testing import CliRunner

from handsfree.cli import main
from tests.timing.sounds import stream, tap, word, word_beat_s

SIX_S = (1.0, 4.5, 6.0, 11.5, 15.5, 17.25)


def written(file: Path, sound: np.ndarray) -> Path:
    soundfile.write(file, sound, 16000)
    return file


@pytest.fixture
def cycle(tmp_path: Path) -> Path:
    sounds = {
        at - word_beat_s() if nth % 2 else at: word() if nth % 2 else tap()
        for nth, at in enumerate(SIX_S)
    }
    return written(tmp_path / "cycle.wav", stream(19.0, sounds))


@pytest.mark.slow
def test_a_cycle_gives_its_five_times_and_a_picture(cycle: Path, tmp_path: Path):
    svg = tmp_path / "cycle.svg"

    result = CliRunner().invoke(main, ["time", str(cycle), "--json", "--svg", str(svg)])

    out = json.loads(result.stdout)
    assert [mark["at_s"] for mark in out["marks"]] == pytest.approx(SIX_S, abs=0.004)
    assert [mark["moment"] for mark in out["marks"]][::5] == ["starts to move", "latched"]
    assert {each["quantity"]: round(each["seconds"], 2) for each in out["times"]} == {
        "opening_time": pytest.approx(3.5, abs=0.01),
        "total_opening_time": pytest.approx(5.0, abs=0.01),
        "hold_open_time": pytest.approx(5.5, abs=0.01),
        "closing_time": pytest.approx(4.0, abs=0.01),
        "latching_time": pytest.approx(1.75, abs=0.01),
    }
    assert all(each["uncertainty_s"] == pytest.approx(0.1, abs=0.002) for each in out["times"])
    drawn = "".join(ElementTree.parse(svg).getroot().itertext())
    assert "fully open 6.00 s" in drawn


@pytest.mark.slow
def test_the_text_tells_times_and_doubt(cycle: Path):
    result = CliRunner().invoke(main, ["time", str(cycle)])

    assert result.exit_code == 0
    assert "1.000 s  starts to move" in result.stdout
    assert "5.50 s  hold open time, ± 0.20 s" in result.stdout


def test_a_phones_own_rate_keeps_the_times(tmp_path: Path):
    """Taps at 44.1 kHz stereo: soundfile says where they stand."""
    rate, at = 44100, (48510, 136269)
    sound = np.random.default_rng(1).normal(0, 0.0005, (4 * rate, 2))
    ring = np.cos(np.arange(900) / 4) * np.exp(-np.arange(900) / 300)
    for first in at:
        sound[first : first + 900] += 0.6 * ring[:, None]
    file = tmp_path / "phone.flac"
    soundfile.write(file, sound, rate)
    read, _ = soundfile.read(file)
    true_s = [first / rate for first in np.flatnonzero(np.diff(read[:, 0]) > 0.4) + 1]

    result = CliRunner().invoke(main, ["time", str(file), "--marks", "2", "--json"])

    out = json.loads(result.stdout)
    assert [mark["at_s"] for mark in out["marks"]] == pytest.approx(true_s, abs=0.002)
    assert out["times"][0]["seconds"] == pytest.approx((at[1] - at[0]) / rate, abs=0.001)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("sounds", "said"),
    [
        ({1.0: tap(), 2.5: tap()}, "2 marks found, 6 expected; they are at 1.00, 2.50 s"),
        ({float(at): tap() for at in range(1, 8)}, "7 marks found, 6 expected; they are at 1.00"),
        ({}, "no marks found, 6 expected in 9.0 s"),
    ],
)
def test_too_few_or_too_many_marks_are_told_and_drawn(
    sounds: dict[float, np.ndarray], said: str, tmp_path: Path
):
    file = written(tmp_path / "bad.wav", stream(9.0, sounds))
    svg = tmp_path / "bad.svg"

    result = CliRunner().invoke(main, ["time", str(file), "--svg", str(svg)])

    assert result.exit_code == 2
    assert said in result.stderr
    assert len(result.stderr.splitlines()) == 1
    assert f"<title>{len(sounds)} marks" in svg.read_text(encoding="utf-8")


def test_a_file_without_sound_is_told(tmp_path: Path):
    result = CliRunner().invoke(
        main, ["time", str(written(tmp_path / "none.wav", np.zeros(16000, np.int16)))]
    )

    assert result.exit_code == 2
    assert "only digital silence" in result.stderr


def test_clipped_marks_are_told(tmp_path: Path):
    file = written(tmp_path / "loud.wav", stream(4.0, {1.0: 20 * word(), 2.5: 20 * word()}))

    result = CliRunner().invoke(main, ["time", str(file), "--marks", "2"])

    assert result.stdout.count("clipped") == 2


WORDS = ("go", "check", "open", "closing", "ten", "shut")


def say(tmp_path: Path, words: tuple[str, ...], clatter_s: tuple[float, ...] = ()) -> Path:
    """A voice that says a word every two seconds, and taps."""
    if shutil.which("flite") is None:
        pytest.skip("flite is missing: apt install flite")
    sounds = {}
    for nth, text in enumerate(words):
        wav = tmp_path / "said.wav"
        subprocess.run(["flite", "-voice", "rms", "-t", text, "-o", wav], check=True)
        sounds[1.0 + 2.0 * nth] = soundfile.read(wav)[0] / 2
    sounds |= {at_s: tap() for at_s in clatter_s}
    return written(tmp_path / "said.flac", stream(2.0 * len(words) + 2.0, sounds))


@pytest.mark.slow
def test_the_words_of_a_cycle_are_heard(tmp_path: Path):
    result = CliRunner().invoke(main, ["time", str(say(tmp_path, WORDS)), "--json"])

    marks = json.loads(result.stdout)["marks"]
    assert [mark["word"] for mark in marks] == list(WORDS)


@pytest.mark.slow
def test_beside_six_words_a_clatter_is_no_mark(tmp_path: Path):
    result = CliRunner().invoke(main, ["time", str(say(tmp_path, WORDS, (6.1,))), "--json"])

    marks = json.loads(result.stdout)["marks"]
    assert [mark["word"] for mark in marks] == list(WORDS)
    assert all(mark["spoken"] for mark in marks)


@pytest.mark.slow
def test_a_word_that_was_not_understood_is_told_with_its_place(tmp_path: Path):
    result = CliRunner().invoke(main, ["time", str(say(tmp_path, (*WORDS[:5], "balcony")))])

    assert result.exit_code == 2
    assert "was not understood; by the order: latched" in result.stderr


@pytest.mark.slow
def test_words_out_of_order_are_told_and_the_order_alone_may_be_asked_for(tmp_path: Path):
    file = say(tmp_path, ("go", "open", "check", "closing", "ten", "shut"))

    result = CliRunner().invoke(main, ["time", str(file)])

    assert result.exit_code == 2
    assert "the words are not in the order of a cycle, at" in result.stderr
    assert len(result.stderr.splitlines()) == 1
    assert CliRunner().invoke(main, ["time", str(file), "--by-order"]).exit_code == 0


def test_hours_of_sound_are_one_line_and_are_not_read(tmp_path: Path) -> None:
    file = tmp_path / "long.flac"
    noise = np.random.default_rng(1).normal(0, 0.01, 601 * 4000)
    soundfile.write(file, noise, 4000)
    done = CliRunner().invoke(main, ["time", str(file)])
    assert done.exit_code == 2
    assert f"handsfree: {file}: it is longer than 10 minutes (cut out" in done.output
