"""Plays sound on a loudspeaker and returns when it has really ended."""

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
from handsfree.audio.portaudio_thread import (
    CLOSE_LIMIT_S,
    DEAD_CLOSE_LIMIT_S,
    SOUND_THREAD,
    close,
    end,
)
from handsfree.errors import SoundError

_LOG = logging.getLogger(__name__)
_WAY_OUT = "connect a loudspeaker or a headset and select it in the system's sound settings"
# Measured with ALSA over PulseAudio: 60 ms and more are lost while a stream starts. Silence is
# lost instead.
_EDGE_S = 0.25
_LATENCY_S = 0.12  # on a busy machine 50 ms has holes in it, 100 ms at times
_GRACE_S = 2.5  # a device that takes no sound for so long is lost; some wake up in two seconds
_TAKEN_AHEAD_S = 0.1  # half of a sound and this much are never taken before they are heard
_BEYOND_S = 0.05  # measured: 15 ms of the last sound were missing without it
_LOOK_EVERY_S = 0.02
_RESCAN_EVERY_S = 5.0

Interrupted = Callable[[], bool]
"""Asked every 20 ms while there is sound: whether it is to stop."""


def never() -> bool:
    """Sound that goes on to its end."""
    return False


@dataclass(frozen=True)
class Speech:
    """Spoken sound: mono samples at ``rate`` Hz."""

    samples: NDArray[np.int16]
    rate: int

    @property
    def seconds(self) -> float:
        """How long it lasts."""
        return len(self.samples) / self.rate


class Player(Protocol):
    """A loudspeaker."""

    def play(self, speech: Speech, interrupted: Interrupted = never) -> float:
        """Returns when the last sample was played, or when ``interrupted`` says so.

        The answer is how many seconds were played. Raises SoundError when it was not to be heard.
        """
        ...

    def close(self) -> None:
        """Lets go of the device."""
        ...


class LoudspeakerPlayer:
    """Plays through PortAudio, on the system's output or the device of that name.

    The stream stays open between two sounds: opening one takes 50 ms and more, and a headset
    without wires swallows the first words. A device that went away is looked for at the next
    sound.
    """

    def __init__(self, device: str | None = None) -> None:
        self.device = device
        devices.quieten()
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
        """Raises SoundError when there is no such output, or it cannot be opened."""
        self._open()

    def play(self, speech: Speech, interrupted: Interrupted = never) -> float:
        """Plays the sound; it has ended when the device has played its last sample.

        A sound system may take sound far faster than it can be heard, and drop it (seen with
        ALSA over PulseAudio, from the opening of a stream on): then the stream is opened anew.
        """
        for _ in range(2):
            played_s = self._play(speech, interrupted)
            if played_s is not None:
                return played_s
            self.close()
        raise SoundError("the loudspeaker takes sound and drops it", way_out=_WAY_OUT)

    def _play(self, speech: Speech, interrupted: Interrupted) -> float | None:
        """How many seconds were played; None when it was dropped."""
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
        # What was handed over is still on its way: through PortAudio, and beyond it.
        time.sleep(self._latency_s + _BEYOND_S)
        self._refuse_dead()
        return len(samples) / self._rate

    def _refuse_dead(self) -> None:
        """Raises SoundError when the device is gone, or has taken nothing for too long."""
        if self._generation == devices.generation():  # else the stream is no more
            active = False
            with suppress(sounddevice.PortAudioError):
                active = self._stream.active
            if active and time.monotonic() - self._taken_s < _GRACE_S:
                return
        self._let_go(limit_s=DEAD_CLOSE_LIMIT_S)
        raise SoundError("the loudspeaker has stopped taking sound", way_out=_WAY_OUT)

    def _stopped(self, edge: int) -> float:
        """Falls silent at once, without what was handed over already; the seconds played.

        The stream is opened anew for the next sound: one of a device that has just died cannot
        be told from one that lives, and would never come back from being started.
        """
        played: int = self._position - edge - round(self._latency_s * self._rate)
        self._sound = np.zeros(0, np.int16)
        self.close(abort=True)
        return max(0, played) / self._rate

    def close(self, *, abort: bool = False) -> None:
        """Lets go of the device; with ``abort`` without what it was handed already."""
        self._let_go(abort=abort)

    def _let_go(self, *, abort: bool = False, limit_s: float = CLOSE_LIMIT_S) -> None:
        stream, self._stream = self._stream, None
        if stream is not None and self._generation == devices.generation():
            close(stream, abort=abort, limit_s=limit_s)

    def _open(self) -> None:
        """Opens the stream where there is none."""
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
            stream = SOUND_THREAD.call(partial(self._started, device), undo=end)
        except (sounddevice.PortAudioError, ValueError) as error:
            reason = str(error).splitlines()[0]
            raise SoundError(f"no sound can be played: {reason}", way_out=_WAY_OUT) from error
        self._stream, self._rate, self._generation = stream, device.rate, devices.generation()
        self._latency_s = stream.latency
        self._fresh = True
        _LOG.info("loudspeaker '%s' opened at %d Hz", device.name, device.rate)

    def _started(self, device: devices.Device) -> Any:
        stream = sounddevice.OutputStream(
            samplerate=device.rate,
            device=device.name,
            channels=1,
            dtype="int16",
            latency=_LATENCY_S,
            callback=self._fill,
        )
        stream.start()
        return stream

    def _fill(self, out: NDArray[np.int16], frames: int, at: Any, status: Any) -> None:
        part = self._sound[self._position : self._position + frames]
        out[: len(part), 0] = part
        out[len(part) :] = 0
        self._taken_s = time.monotonic()
        self._position += len(part)
        if self._position >= len(self._sound):
            self._ended.set()


class FakePlayer:
    """Keeps what it was given to play; ``interrupted`` is asked once, before the sound."""

    def __init__(self) -> None:
        self.played: list[Speech] = []

    def play(self, speech: Speech, interrupted: Interrupted = never) -> float:
        """Done at once."""
        if interrupted():
            return 0.0
        self.played.append(speech)
        return speech.seconds

    def close(self) -> None:
        """Nothing to let go of."""
