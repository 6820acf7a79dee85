"""The ears of the app in a real browser, with a recording as its microphone."""

import numpy as np
import pytest
import soundfile

from handsfree.data import data_folder
from handsfree.journal import events as ev
from handsfree.journal.reader import read, verify
from handsfree.reports.unpack import unpack

from .app import served
from .phone_browser import begin, opened, phone, saved_pack, until

pytestmark = pytest.mark.slow


def heard_in(folder):
    return [event.body.text for event in read(folder) if isinstance(event.body, ev.Heard)]


def test_the_microphone_is_heard_and_its_sound_kept(app, tmp_path):
    sound, rate = soundfile.read(
        data_folder("audio_fixtures") / "harbour-hall.flac", dtype="int16", stop=16_000 * 5
    )
    wav = tmp_path / "microphone.wav"
    soundfile.write(wav, np.concatenate((np.zeros(16_000, np.int16), sound)), rate)
    switches = (
        *("--use-fake-ui-for-media-stream", "--use-fake-device-for-media-stream"),
        f"--use-file-for-fake-audio-capture={wav}%noloop",
    )
    with served(app) as address, phone(*switches) as made:
        page = opened(made, address)
        begin(page)
        page.click("#headset")  # the recording does not wait for tones
        page.click("#listen")
        until(page, "document.getElementById('heard').textContent.includes('clear')")
        page.click("#listen")
        folder = unpack(saved_pack(page, tmp_path), tmp_path).folder
        assert page.faults == []
    assert heard_in(folder)[:2] == ["done", "clear"]
    assert verify(folder).whole and verify(folder).clips >= 2
