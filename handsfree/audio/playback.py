"""Plays sound on a loudspeaker and returns when the last sample was heard."""

from __future__ import annotations

import logging
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from functools import partial
from typing import Any, Protocol

import numpy as np
import sounddevice
import soxr
from numpy.typing import NDArray

from handsfree.audio import devices
from handsfree.audio.portaudio_thread import CLOSE_LIMIT_S, DEAD_CLOSE_LIMIT_S, SOUND_THREAD
from handsfree.errors import SoundError

_LOG = logging.getLogger(__name__)
_WAY_OUT = "connect a loudspeaker or a headset and select it in the system's sound settings"
# Measured with ALSA over PulseAudio: at least 60 ms are lost while a stream starts. Leading silence
# is lost instead.
_EDGE_S = 0.25
_LATENCY_S = 0.12  # on a busy machine 50 ms has gaps, and 100 ms sometimes
_GRACE_S = 2.5  # a device that takes no sound for this long is lost; some wake up in two seconds
_TAKEN_AHEAD_S = 0.1  # a device never buffers half of a sound plus this much before it plays it
_BEYOND_S = 0.05  # measured: without it the last 15 ms are cut off
_LOOK_EVERY_S = 0.02
_RESCAN_EVERY_S = 5.0

Interrupted = Callable[[], bool]
"""Called every 20 ms during playback; True stops the sound."""


def never_interrupted() -> bool:
    """Never interrupts: the sound plays to its end."""
    return False


@dataclass(frozen=True)
class Speech:
    """Spoken sound: mono samples at ``rate`` Hz."""

    samples: NDArray[np.int16]
    rate: int

    @property
    def seconds(self) -> float:
        """Duration (s)."""
        return len(self.samples) / self.rate


class Player(Protocol):
    """A loudspeaker."""

    def play(self, speech: Speech, interrupted: Interrupted = never_interrupted) -> float:
        """Plays until the last sample has been heard or ``interrupted`` returns True.

        Returns the seconds played. Raises SoundError if nothing could be heard.
        """
        ...

    def close(self) -> None:
        """Releases the device."""
        ...


class LoudspeakerPlayer:
    """Plays through PortAudio on the system's output or a named device.

    The stream stays open between sounds: opening one takes at least 50 ms, and a wireless headset
    swallows the first words. If the device disappears, it is searched for at the next sound.
    """

    def __init__(self, device: str | None = None) -> None:
        self.device = device
        devices.silence_libraries()
        self._stream: Any = None
        self._rate = 0
        self._latency_s = 0.0
        self._generation = -1
        self._fresh = False
        self._sound = np.zeros(0, np.int16)
        self._position = 0
        self._begun_s = self._taken_s = 0.0
        self._ended = threading.Event()
        self._rescanned_s: float | None = None

    def check(self) -> None:
        """Raises SoundError if there is no such output or it cannot be opened."""
        self._open()

    def play(self, speech: Speech, interrupted: Interrupted = never_interrupted) -> float:
        """Plays the sound and returns once the device has played its last sample.

        A sound system may accept sound much faster than real time and drop it (seen with ALSA over
        PulseAudio, right after a stream is opened). The stream is then reopened.
        """
        for _ in range(2):
            played_s = self._play(speech, interrupted)
            if played_s is not None:
                return played_s
            self.close()
        raise SoundError("the loudspeaker accepts sound but drops it", way_out=_WAY_OUT)

    def _play(self, speech: Speech, interrupted: Interrupted) -> float | None:
        """Seconds played; None if the sound was dropped."""
        self._open()
        samples = speech.samples
        if speech.rate != self._rate:
            samples = soxr.resample(samples, speech.rate, self._rate)
        edge = np.zeros(round(_EDGE_S * self._rate) if self._fresh else 0, np.int16)
        self._fresh = False
        whole_s = (len(edge) + len(samples)) / self._rate
        self._begun_s = self._taken_s = time.monotonic()
        self._ended.clear()
        self._position = 0
        self._sound = np.concatenate((edge, samples))
        while not self._ended.wait(_LOOK_EVERY_S):
            self._refuse_dead()
            if interrupted():
                return self._stopped(len(edge))
        if time.monotonic() - self._begun_s < whole_s / 2 - _TAKEN_AHEAD_S:
            return None
        # The last samples are still on their way, through PortAudio and beyond it.
        time.sleep(self._latency_s + _BEYOND_S)
        self._refuse_dead()
        return len(samples) / self._rate

    def _refuse_dead(self) -> None:
        """Raises SoundError if the device is gone or has taken nothing for too long."""
        if self._generation == devices.generation():  # otherwise the stream is gone
            active = False
            with suppress(sounddevice.PortAudioError):
                active = self._stream.active
            if active and time.monotonic() - self._taken_s < _GRACE_S:
                return
        self._let_go(limit_s=DEAD_CLOSE_LIMIT_S)
        raise SoundError("the loudspeaker no longer accepts sound", way_out=_WAY_OUT)

    def _stopped(self, edge: int) -> float:
        """Goes silent at once, drops what was handed over, and returns the seconds played.

        The next sound opens a new stream: a device that has just died looks like a live one, and
        starting its stream again would never return.
        """
        played: int = self._position - edge - round(self._latency_s * self._rate)
        self._sound = np.zeros(0, np.int16)
        self.close(abort=True)
        return max(0, played) / self._rate

    def close(self, *, abort: bool = False) -> None:
        """Releases the device; ``abort`` also drops the sound it has buffered."""
        self._let_go(abort=abort)

    def _let_go(self, *, abort: bool = False, limit_s: float = CLOSE_LIMIT_S) -> None:
        stream, self._stream = self._stream, None
        if stream is not None:
            SOUND_THREAD.close(stream, abort=abort, limit_s=limit_s)

    def _open(self) -> None:
        """Opens the stream unless it is open."""
        if self._stream is not None and self._generation == devices.generation():
            return
        try:
            self._begin()
        except SoundError:
            now_s = time.monotonic()
            if self._rescanned_s is not None and now_s - self._rescanned_s < _RESCAN_EVERY_S:
                raise
            self._rescanned_s = now_s
            devices.rescan()
            self._begin()

    def _begin(self) -> None:
        device = devices.find("loudspeaker", self.device)
        try:
            stream = SOUND_THREAD.open(partial(self._new_stream, device))
        except (sounddevice.PortAudioError, ValueError) as error:
            reason = str(error).splitlines()[0]
            raise SoundError(f"no sound can be played: {reason}", way_out=_WAY_OUT) from error
        self._stream, self._rate, self._generation = stream, device.rate, devices.generation()
        self._latency_s = stream.latency
        self._fresh = True
        _LOG.info("loudspeaker '%s' opened at %d Hz", device.name, device.rate)

    def _new_stream(self, device: devices.Device) -> Any:
        return sounddevice.OutputStream(
            samplerate=device.rate,
            device=device.name,
            channels=1,
            dtype="int16",
            latency=_LATENCY_S,
            callback=self._fill,
        )

    def _fill(self, out: NDArray[np.int16], frames: int, at: Any, status: Any) -> None:
        part = self._sound[self._position : self._position + frames]
        out[: len(part), 0] = part
        out[len(part) :] = 0
        self._taken_s = time.monotonic()
        self._position += len(part)
        if self._position >= len(self._sound):
            self._ended.set()


class FakePlayer:
    """A fake loudspeaker that records what it was given; calls ``interrupted`` once, before the
    sound.
    """

    def __init__(self) -> None:
        self.played: list[Speech] = []

    def play(self, speech: Speech, interrupted: Interrupted = never_interrupted) -> float:
        """Returns at once."""
        if interrupted():
            return 0.0
        self.played.append(speech)
        return speech.seconds

    def close(self) -> None:
        """Does nothing: there is no device to release."""
