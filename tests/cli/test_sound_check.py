"""handsfree sound-check with a recording, and with a virtual microphone and loudspeaker."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

from handsfree.audio.sound_files import write_sound
from handsfree.cli import main
from tests.air import Room, flite, missing


def check(file: Path) -> tuple[int, dict]:
    result = CliRunner().invoke(main, ["sound-check", "--sound", str(file), "--json"])
    return result.exit_code, json.loads(result.stdout)


@pytest.fixture(scope="module")
def said(tmp_path_factory: pytest.TempPathFactory) -> np.ndarray:
    """A reading and an answer, with pauses, over the noise of a room."""
    if shutil.which("flite") is None:
        pytest.skip("flite is missing: apt install flite")
    rest = np.zeros(16_000, np.int16)
    parts = [rest, flite("left leaf opening time six point two seconds"), rest]
    parts += [flite("where am i"), rest]
    sound = np.concatenate(parts).astype(float)
    return sound + np.random.default_rng(1).normal(0, 12, len(sound))


def kept(tmp_path: Path, sound: np.ndarray) -> Path:
    file = tmp_path / "said.wav"
    write_sound(file, np.clip(np.rint(sound), -32768, 32767).astype(np.int16))
    return file


@pytest.mark.slow
def test_a_good_recording_is_readable_and_needs_no_advice(said, tmp_path):
    code, found = check(kept(tmp_path, said))
    assert code == 0
    assert [sample["heard"] for sample in found["samples"]] == [
        "left leaf opening time six point two seconds",
        "where am i",
    ]
    assert found["readability"] == 5
    assert found["quiet"]["floor_db"] == pytest.approx(20 * np.log10(12 / 32768), abs=2)
    assert found["advice"] == []


@pytest.mark.slow
@pytest.mark.parametrize(
    ("change", "kind"),
    [
        (lambda said: np.clip(said * 6, -32768, 32767), "clipped"),
        (lambda said: said + 250 * np.sin(2 * np.pi * 100 * np.arange(len(said)) / 16_000), "hum"),
        (lambda said: said * 0, "silent"),
        (lambda said: said[:12_000], "nobody_heard"),
        (lambda said: said / 100 + 0.6 * np.sign(said), "too_soft"),
    ],
    ids=["clipped", "hum", "silent", "nobody", "soft"],
)
def test_what_is_wrong_with_a_recording_is_said(
    said, tmp_path, change: Callable[[np.ndarray], np.ndarray], kind: str
):
    code, found = check(kept(tmp_path, change(said)))
    serious = {advice["kind"]: advice["serious"] for advice in found["advice"]}
    assert kind in serious
    assert code == int(any(serious.values()))


@pytest.mark.slow
def test_a_missing_file_is_one_clear_line(tmp_path):
    result = CliRunner().invoke(main, ["sound-check", "--sound", str(tmp_path / "none.wav")])
    assert result.exit_code == 2
    assert result.stderr.count("\n") == 1 and "no such sound file" in result.stderr


@pytest.mark.slow
def test_no_device_is_one_clear_line(tmp_path):
    done = subprocess.run(
        [sys.executable, "-m", "handsfree", "sound-check"],
        env={"PATH": "/usr/bin:/bin", "HOME": str(tmp_path), "XDG_RUNTIME_DIR": str(tmp_path)},
        capture_output=True,
        text=True,
        timeout=60,
    )
    assert done.returncode == 2
    assert done.stderr.startswith("handsfree: there is no microphone")
    assert done.stderr.count("\n") == 1


def at_the_devices(room: Room, *words: str, answers: bool) -> tuple[int, dict]:
    """Runs the check in a room; a voice says the requested phrases once the tool is silent."""
    process = subprocess.Popen(
        [sys.executable, "-m", "handsfree", "sound-check", "--json", *words],
        env={**room.environment, "COLUMNS": "200"},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    assert process.stderr is not None and process.stdout is not None
    for line in process.stderr:
        asked = line.partition("Please say: ")[2].strip()
        if answers and asked:
            room.sounded(len(room.heard))
            assert room.quiet(0.5)
            room.say(flite(asked))
    found = json.loads(process.stdout.read())
    process.stdout.close()
    process.stderr.close()
    return process.wait(timeout=60), found


@pytest.mark.slow
def test_at_the_devices_the_echo_of_a_loudspeaker_is_heard_and_what_was_said_is_understood():
    if (why := missing()) is not None:
        pytest.skip(why)
    with Room() as room:
        room.pactl(
            "load-module",
            "module-loopback",
            "source=speaker.monitor",
            "sink=mic",
            "latency_msec=40",
        )
        code, found = at_the_devices(room, answers=True)
    assert [sample["understood"] for sample in found["samples"]] == [True, True, True]
    assert found["echo"]["heard"]
    assert [advice["kind"] for advice in found["advice"]] == ["echo"]
    assert found["microphone"] and found["devices"]
    assert code == 0


@pytest.mark.slow
def test_a_muted_microphone_delivers_only_silence():
    if (why := missing()) is not None:
        pytest.skip(why)
    with Room(noise_rms=0) as room:
        code, found = at_the_devices(room, answers=False)
    assert code == 1
    assert [advice["kind"] for advice in found["advice"]] == ["silent"]
    assert "muted" in found["advice"][0]["text"]
