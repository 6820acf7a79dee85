"""Plays into a virtual PulseAudio sink and checks the recorded result."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from handsfree.audio.playback import LoudspeakerPlayer
from handsfree.errors import SoundError

PLAY = """
import numpy as np
from handsfree.audio.playback import LoudspeakerPlayer
from handsfree.synthesis.voice import FakeVoice
player = LoudspeakerPlayer("pulse")
player.check()
player.play(FakeVoice().speak("one two three four five"))
player.play(FakeVoice().speak("six seven eight nine ten"))
print("ended", flush=True)
"""


_RATE = 22_050
_BYTES_A_SECOND = 2 * _RATE


def _wait_for(heard: Path, seconds: float) -> None:
    """Waits until that much sound was recorded, including the sink's silence."""
    for _ in range(1000):
        if heard.stat().st_size >= seconds * _BYTES_A_SECOND:
            return
        time.sleep(0.02)
    pytest.fail(f"the recorder has not recorded {seconds} s within 20 s")


@pytest.fixture
def sink(tmp_path: Path) -> Iterator[dict[str, str]]:
    """The environment of a sound server with one sink, 'out', that goes nowhere."""
    if shutil.which("pulseaudio") is None or shutil.which("parec") is None:
        pytest.skip("pulseaudio is missing: apt install pulseaudio libasound2-plugins")
    runtime = tmp_path / "run"
    runtime.mkdir(mode=0o700)
    environment = {**os.environ, "XDG_RUNTIME_DIR": str(runtime)}
    server = subprocess.Popen(
        [
            "pulseaudio", "-n", "--daemonize=no", "--exit-idle-time=-1",
            "-L", "module-native-protocol-unix",
            "-L", "module-null-sink sink_name=out rate=22050 channels=1",
        ],
        env=environment,
        stderr=subprocess.DEVNULL,
    )  # fmt: skip
    for _ in range(100):
        if subprocess.run(["pactl", "info"], env=environment, capture_output=True).returncode == 0:
            break
        time.sleep(0.1)
    yield environment
    server.terminate()
    server.wait()


@pytest.mark.slow
def test_it_returns_after_the_last_sample_was_played(sink: dict[str, str], tmp_path: Path) -> None:
    heard = tmp_path / "heard.raw"
    with heard.open("wb") as file:
        recorder = subprocess.Popen(
            [
                "parec", "--device=out.monitor", "--rate=22050", "--channels=1", "--format=s16le",
                "--latency-msec=20",
            ],
            env=sink,
            stdout=file,
        )  # fmt: skip
        _wait_for(heard, 0.1)
        # The player's process ends at once, so what it had not played would be missing.
        played = subprocess.run(
            [sys.executable, "-c", PLAY], env=sink, capture_output=True, text=True, timeout=60
        )
        _wait_for(heard, heard.stat().st_size / _BYTES_A_SECOND + 0.5)
        recorder.terminate()
        recorder.wait()
    assert played.stdout == "ended\n", played.stderr
    samples = np.fromfile(heard, np.int16)
    tone_s = np.count_nonzero(np.abs(samples) > 0) / _RATE
    assert tone_s == pytest.approx(1.0, abs=0.01)


def test_a_device_that_is_not_there_is_one_clear_line() -> None:
    with pytest.raises(SoundError, match="there is no loudspeaker") as raised:
        LoudspeakerPlayer("no such device").check()
    assert "\n" not in str(raised.value)
