"""Ears and player with the virtual microphone and loudspeaker of a sound server."""

from __future__ import annotations

import json
import subprocess
import sys
import time
from collections.abc import Iterator

import numpy as np
import pytest

from tests.air import RATE, Room, flite, missing

LISTEN = """
import json, sys, time
from handsfree.audio.capture import MicrophoneCapture
from handsfree.recognition.port import QuietPeriod, SourceFault
from handsfree.recognition.microphone_ears import MicrophoneEars
from handsfree.recognition.speech_model import SpeechModel
from handsfree.recognition.recognizer import VoskRecognizer

ears = MicrophoneEars(
    MicrophoneCapture("pulse"), VoskRecognizer(SpeechModel.load()), quiet_at_s=(2.0,)
)
print(json.dumps("open"), flush=True)
while True:
    heard = ears.listen()
    what = {
        QuietPeriod: lambda: ["quiet", heard.seconds],
        SourceFault: lambda: [heard.what, heard.lost_s],
    }.get(type(heard), lambda: [heard.text, heard.start_s])()
    print(json.dumps(what), flush=True)
"""

CUT = """
import json, sys, time
import numpy as np
from handsfree.audio.playback import LoudspeakerPlayer
from handsfree.audio.playback import Speech

player = LoudspeakerPlayer("pulse")
tone = (8000 * np.sin(2 * np.pi * 440 / 16000 * np.arange(16000 * 3))).astype(np.int16)
player.play(Speech(np.zeros(40000, np.int16), 16000))  # a sound server wakes up slowly
begun = time.monotonic()
played = player.play(Speech(tone, 16000), lambda: time.monotonic() - begun > 1.0)
time.sleep(0.5)
again = player.play(Speech(tone[:8000], 16000))
time.sleep(0.3)
print(json.dumps([played, again]))
"""


@pytest.fixture
def room() -> Iterator[Room]:
    if (why := missing()) is not None:
        pytest.skip(why)
    with Room() as room:
        yield room


class Listening:
    """The program's ears in a separate process, and their reports."""

    def __init__(self, room: Room) -> None:
        self._process = subprocess.Popen(
            [sys.executable, "-c", LISTEN],
            env=room.environment,
            stdout=subprocess.PIPE,
            text=True,
        )
        assert self.next() == "open"

    def next(self) -> object:
        """What comes next, but for silences."""
        assert self._process.stdout is not None
        while True:
            told = json.loads(self._process.stdout.readline())
            if told[0] != "quiet":
                return told

    def close(self) -> None:
        self._process.kill()
        self._process.communicate()


@pytest.fixture
def ears(room: Room) -> Iterator[Listening]:
    listening = Listening(room)
    yield listening
    listening.close()


@pytest.mark.slow
def test_a_microphone_that_is_pulled_out_in_mid_word_and_comes_back_is_told_and_heard_again(
    room: Room, ears: Listening
) -> None:
    time.sleep(0.5)
    room.say(flite("affirm"))
    assert ears.next()[0] == "affirm"
    room.say(flite("closing time four point two"))
    time.sleep(0.6)
    room.unplug()
    assert ears.next()[0] == "microphone_lost"
    room.plug_in()
    what, lost_s = ears.next()
    assert what == "microphone_back"
    assert 0.5 < lost_s < 20
    time.sleep(2)  # the program's own sentence takes longer
    room.say(flite("affirm"))
    # The server may have kept the end of what was said into the gap.
    first = ears.next()[0]
    assert first == "affirm" or ears.next()[0] == "affirm"


@pytest.mark.slow
def test_a_text_that_is_cut_short_is_silent_at_once_and_the_next_one_is_whole(room: Room) -> None:
    done = subprocess.run(
        [sys.executable, "-c", CUT],
        env=room.environment,
        capture_output=True,
        text=True,
        timeout=60,
    )
    played, again = json.loads(done.stdout)
    loud = np.abs(room.heard.astype(float)) > 300
    # Stretches of tone: a gap is 200 ms without it; a busy machine leaves shorter ones.
    edges = np.flatnonzero(np.diff(np.convolve(loud, np.ones(RATE // 5), "same") > 0))
    lengths_s = np.diff(edges)[::2] / RATE - 0.2
    assert len(lengths_s) == 2
    assert lengths_s[0] == pytest.approx(played, abs=0.2)
    assert 0.7 < played < 1.3
    assert lengths_s[1] == pytest.approx(again, abs=0.05) == pytest.approx(0.5, abs=0.05)
