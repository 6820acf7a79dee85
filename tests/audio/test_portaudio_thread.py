"""Calls into the sound system that never come back, or come back too late."""

from __future__ import annotations

import threading
import time
from typing import Any, ClassVar

import pytest
import sounddevice

from handsfree.audio import devices, playback, portaudio_thread
from handsfree.audio.playback import LoudspeakerPlayer
from handsfree.audio.portaudio_thread import SoundThread
from handsfree.errors import SoundError
from handsfree.synthesis.voice import FakeVoice

LOUDSPEAKER = devices.Device(
    name="headset", host="ALSA", rate=16000, microphone=0, loudspeaker=1,
    default_for=("loudspeaker",),
)  # fmt: skip


@pytest.fixture(autouse=True)
def sound(monkeypatch: pytest.MonkeyPatch) -> SoundThread:
    """A thread of the test's own, so that what hangs in one hangs in no other."""
    fresh = SoundThread()
    monkeypatch.setattr(portaudio_thread.atexit, "unregister", lambda handler: None)
    for module in (portaudio_thread, playback, devices):
        monkeypatch.setattr(module, "SOUND_THREAD", fresh)
    return fresh


def test_what_a_call_returns_or_raises_is_the_callers(sound: SoundThread) -> None:
    assert sound.call(lambda: 7) == 7
    with pytest.raises(sounddevice.PortAudioError):
        sound.call(lambda: (_ for _ in ()).throw(sounddevice.PortAudioError("no", -1)))
    assert not sound.stuck


def test_a_call_that_hangs_is_left_behind_and_its_late_result_let_go_of(
    sound: SoundThread, monkeypatch: pytest.MonkeyPatch
) -> None:
    free, late = threading.Event(), []
    with pytest.raises(SoundError, match="does not answer"):
        sound.call(lambda: free.wait() and "stream", limit_s=0.05, undo=late.append)
    assert sound.stuck
    with pytest.raises(SoundError, match="does not answer"):  # it rests
        sound.call(lambda: 7)
    monkeypatch.setattr(portaudio_thread, "REST_S", 0.0)
    assert sound.call(lambda: 7) == 7  # in a fresh thread
    generation = devices.rescan()
    assert generation == devices.generation()
    free.set()
    for _ in range(200):
        if not sound.stuck:
            break
        time.sleep(0.01)
    assert not sound.stuck and late == ["stream"]


class Stream:
    """A loudspeaker's stream that lives until its server dies, as PortAudio shows it."""

    latency = 0.0

    def __init__(self, *, callback, **options: object) -> None:
        self.callback, self.calls = callback, []
        self.active = True
        self.made.append(self)

    made: ClassVar[list[Any]] = []
    dead = False

    def start(self) -> None:
        self.calls.append("start")
        if self.dead:
            threading.Event().wait()

    def abort(self, ignore_errors: bool = True) -> None:
        self.calls.append("abort")

    def close(self, ignore_errors: bool = True) -> None:
        self.calls.append("close")


@pytest.fixture
def streams(monkeypatch: pytest.MonkeyPatch) -> type[Stream]:
    class Fresh(Stream):
        made: ClassVar[list[Any]] = []

    monkeypatch.setattr(devices, "devices", lambda: (LOUDSPEAKER,))
    monkeypatch.setattr(sounddevice, "OutputStream", Fresh)
    return Fresh


def test_a_stream_that_was_cut_short_is_closed_and_never_started_again(streams) -> None:
    speaker = LoudspeakerPlayer()
    assert speaker.play(FakeVoice().speak("one two three"), lambda: True) == 0.0
    assert streams.made[0].calls == ["start", "abort", "close"]


def test_a_device_that_dies_in_a_sound_is_told_at_once_and_not_started_again(streams) -> None:
    speaker = LoudspeakerPlayer()

    def dies() -> bool:
        streams.made[0].active = False
        streams.dead = True
        return False

    with pytest.raises(SoundError, match="has stopped taking sound"):
        speaker.play(FakeVoice().speak("one two three"), dies)
    assert streams.made[0].calls == ["start", "close"]


def test_a_stream_whose_start_hangs_is_one_clear_line(streams, sound: SoundThread) -> None:
    streams.dead = True
    sound.call = lambda job, **more: SoundThread.call(sound, job, limit_s=0.05)  # type: ignore[method-assign]
    with pytest.raises(SoundError, match="the sound system does not answer"):
        LoudspeakerPlayer().check()


def test_no_error_of_portaudio_leaves_the_player(streams) -> None:
    class Gone(streams):
        made = streams.made

        @property
        def active(self) -> bool:
            raise sounddevice.PortAudioError("Invalid stream pointer", -9988)

        @active.setter
        def active(self, value: bool) -> None:
            pass

    sounddevice.OutputStream = Gone  # the fixture puts the real one back
    with pytest.raises(SoundError):
        LoudspeakerPlayer().play(FakeVoice().speak("one"), lambda: False)


def test_nobody_waits_long_for_a_dead_device_to_be_closed(streams, sound: SoundThread) -> None:
    """A server that stands still is told within three seconds (issue 21)."""
    limits = []

    def call(job, *, limit_s: float = 0.0, **more):
        limits.append(limit_s)
        return SoundThread.call(sound, job, limit_s=limit_s or 5.0, **more)

    sound.call = call  # type: ignore[method-assign]

    def dies() -> bool:
        streams.made[0].active = False
        return False

    with pytest.raises(SoundError, match="has stopped taking sound"):
        LoudspeakerPlayer().play(FakeVoice().speak("one two three"), dies)
    assert 0 < limits[-1] < 3.0 - playback._GRACE_S
