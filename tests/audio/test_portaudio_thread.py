"""Calls into the sound system that never return, or return too late."""

from __future__ import annotations

import gc
import threading
import time
import weakref
from functools import partial
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
    """A separate thread for each test, so that a hanging call affects no other test."""
    fresh = SoundThread()
    monkeypatch.setattr(portaudio_thread.atexit, "unregister", lambda handler: None)
    for module in (playback, devices):
        monkeypatch.setattr(module, "SOUND_THREAD", fresh)
    return fresh


def test_what_a_call_returns_or_raises_is_the_callers(sound: SoundThread) -> None:
    assert sound.call(lambda: 7) == 7
    with pytest.raises(sounddevice.PortAudioError):
        sound.call(lambda: (_ for _ in ()).throw(sounddevice.PortAudioError("no", -1)))
    assert not sound.stuck


def until_free(sound: SoundThread) -> None:
    for _ in range(500):
        if not sound.stuck:
            return
        time.sleep(0.01)
    raise AssertionError("a call is still late")


def test_while_a_call_hangs_no_other_enters_and_its_late_result_is_let_go_of(
    sound: SoundThread,
) -> None:
    free, late, entered = threading.Event(), [], []
    with pytest.raises(SoundError, match="does not answer"):
        sound.call(lambda: free.wait() and "stream", limit_s=0.05, undo=late.append)
    assert sound.stuck
    with pytest.raises(SoundError, match="does not answer"):
        sound.call(lambda: entered.append(1))
    with pytest.raises(SoundError, match="does not answer"):
        devices.devices()
    assert devices.rescan() == devices.generation()
    free.set()
    until_free(sound)
    assert sound.call(lambda: 7) == 7
    assert late == ["stream"] and not entered


def test_all_calls_are_made_in_one_thread(sound: SoundThread) -> None:
    free, threads = threading.Event(), set()
    with pytest.raises(SoundError):
        sound.call(lambda: (free.wait(), threads.add(threading.get_ident())), limit_s=0.05)
    free.set()
    until_free(sound)
    sound.call(lambda: threads.add(threading.get_ident()))
    assert len(threads) == 1 and threading.get_ident() not in threads


class Stream:
    """A loudspeaker's stream that lives until its server dies, as seen through PortAudio."""

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

    with pytest.raises(SoundError, match="no longer accepts sound"):
        speaker.play(FakeVoice().speak("one two three"), dies)
    assert streams.made[0].calls == ["start", "close"]


def test_a_stream_whose_start_hangs_is_one_clear_line(streams, sound: SoundThread) -> None:
    streams.dead = True
    sound.call = partial(sound.call, limit_s=0.05)  # type: ignore[method-assign]
    with pytest.raises(SoundError, match="the sound system does not answer"):
        LoudspeakerPlayer().check()


def test_a_stream_that_cannot_be_closed_yet_is_kept_and_closed_in_its_turn(
    streams, sound: SoundThread
) -> None:
    """PortAudio's threads call its callback until then, and that goes with the Python object."""
    free = threading.Event()
    stream = sound.open(lambda: streams(callback=None))
    with pytest.raises(SoundError):
        sound.call(free.wait, limit_s=0.05)
    sound.close(stream)
    there = weakref.ref(stream)
    calls = stream.calls
    streams.made.clear()
    del stream
    gc.collect()
    assert there() is not None and calls == ["start"]
    free.set()
    until_free(sound)
    assert calls == ["start", "close"]
    gc.collect()
    assert there() is None


def test_a_stream_that_does_not_start_is_closed(streams, sound: SoundThread) -> None:
    class Refused(streams):
        def start(self) -> None:
            raise sounddevice.PortAudioError("no", -1)

    with pytest.raises(sounddevice.PortAudioError):
        sound.open(lambda: Refused(callback=None))
    assert streams.made[0].calls == ["close"]


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


def test_nobody_waits_long_for_a_dead_device_to_be_closed(
    streams, sound: SoundThread, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A server that stands still is told within three seconds."""
    limits = []

    def close(stream: object, *, abort: bool = False, limit_s: float = 9.0) -> None:
        limits.append(limit_s)

    monkeypatch.setattr(sound, "close", close)

    def dies() -> bool:
        streams.made[0].active = False
        return False

    with pytest.raises(SoundError, match="no longer accepts sound"):
        LoudspeakerPlayer().play(FakeVoice().speak("one two three"), dies)
    assert len(limits) == 1 and 0 < limits[0] < 3.0 - playback._GRACE_S
