"""A device that another program holds, or that has no rate of its own: one line with the way out.

The errors are PortAudio's own, as it words them; no such device can be had on a machine without
sound cards.
"""

from __future__ import annotations

import pytest
import sounddevice
from click.testing import CliRunner

from handsfree.audio import devices
from handsfree.audio.capture import MicrophoneCapture
from handsfree.audio.playback import LoudspeakerPlayer
from handsfree.cli import main
from handsfree.errors import SoundError

HEADSET = devices.Device(
    name="USB headset",
    host="ALSA",
    rate=44100,
    microphone=1,
    loudspeaker=2,
    default_for=("microphone", "loudspeaker"),
)
REFUSALS = [("Device unavailable", -9985), ("Invalid sample rate", -9997)]


@pytest.fixture
def refused(monkeypatch, request):
    words, number = request.param

    def refuse(**options: object) -> object:
        asked.append(options)
        raise sounddevice.PortAudioError(f"Error opening stream: {words}\nmore", number)

    asked: list[dict[str, object]] = []
    monkeypatch.setattr(devices, "devices", lambda: (HEADSET,))
    monkeypatch.setattr(devices, "rescan", lambda: 0)
    monkeypatch.setattr(sounddevice, "InputStream", refuse)
    monkeypatch.setattr(sounddevice, "OutputStream", refuse)
    return words, asked


@pytest.mark.parametrize("refused", REFUSALS, indirect=True)
def test_a_microphone_that_is_refused(refused):
    words, asked = refused
    with pytest.raises(SoundError) as error:
        MicrophoneCapture()
    told = str(error.value)
    assert "the microphone 'USB headset' cannot be opened" in told and words in told
    assert "\n" not in told and "name another with --microphone" in told
    assert [options["samplerate"] for options in asked] == [44100]  # its own rate, nothing guessed


@pytest.mark.parametrize("refused", REFUSALS, indirect=True)
def test_a_loudspeaker_that_is_refused(refused):
    words, _ = refused
    with pytest.raises(SoundError) as error:
        LoudspeakerPlayer().check()
    assert words in str(error.value) and "\n" not in str(error.value)


@pytest.mark.parametrize("refused", REFUSALS, indirect=True)
def test_a_visit_does_not_begin_and_leaves_no_folder(refused, tmp_path):
    words, _ = refused
    job = "docs/examples/harbour-hall.job.toml"
    out = tmp_path / "visit"
    answer = CliRunner().invoke(main, ["visit", "--job", job, "--out", str(out)])
    assert answer.exit_code == 2, answer.output
    assert words in answer.output and len(answer.output.strip().splitlines()) <= 2
    assert not out.exists()
